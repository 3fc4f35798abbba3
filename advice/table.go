package advice

import g "threshline/grading"

// The spreads and figures below that say Assumed are ours: no source was found
// for what a hand sieve or a picker removes, nor for how much less red rice or
// discoloured grain a season's change brings ([ASSUMED-ADVICE]).

// mostInSun is the largest lot that is spread in the sun, kg: 3 cm of paddy is
// some 17 to 18 kg on a square metre (common practice, no source), so that it
// wants about 570 m2. Source: our choice, [ASSUMED-ADVICE].
const mostInSun = 10000

// mostByWind is the largest lot that is winnowed by hand, kg: three days of eight
// hours at the 242 kg an hour of [CRRI-WINNOW]. Source: our choice,
// [ASSUMED-ADVICE].
const mostByWind = 6000

// SealedDays is how long a lot with live insects stays sealed before it is looked
// at again. Without air all stages die within days ([RICE-TODAY-8]), but a bag
// that leaks kills nothing ([HERMETIC-LEAK]), and what is hidden in a grain shows
// only when it comes out: a weevil takes about five weeks from egg to beetle
// ([WEEVIL-CYCLE]). The days are our choice, [ASSUMED-ADVICE].
const SealedDays = 35

// table holds every remedy for this lot, then those for the next season. It
// is constant.
var table = append(thisLot, nextSeason...)

var thisLot = []Remedy{
	{
		ID: RejectTreated, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.TreatedSeed},
		Cause: "treated_seed_mixed", Tool: "none",
		Cautions: []CautionID{NotFood, LabDecides}, Source: "[SC-TREATED]", Trust: Secondary,
	},
	{
		ID: Quarantine, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Mouldy, g.Musty},
		Cause: "wet_storage", Tool: "supervisor",
		Cautions: []CautionID{NotEaten, StoredDustMask, LabDecides}, Source: "[DEFRA-MOULD]", Trust: Secondary,
	},
	{
		ID: RejectTainted, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.OffOdour},
		Cause: "chemical_near", Tool: "supervisor",
		Cautions: []CautionID{Tainted, LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: CoolInsects, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Warm},
		Insects: InsectsSeen, About: []g.Field{g.LiveWeevils, g.LiveOthers}, Cause: "dirty_store", Tool: "tarpaulin",
		Work:     Work{2, 10, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NoFumigant, NotEaten, HotGrain, LabDecides}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: SpreadAndLook, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Warm},
		Insects: NoInsects, IfNotWet: true, Cause: "hidden_wet_or_insects", Tool: "tarpaulin", Work: Work{1, 6, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NotEaten, StoredDustMask, NoFumigant}, Source: NoSource, Trust: Practice,
	},
	{
		ID: DrySun, When: ThisLot, Band: MendBand, Dries: true, Task: Drying, Cause: "not_dried_enough", Tool: "tarpaulin_rake",
		Work: Work{2, 16, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7, InSun: true, LargestKG: mostInSun,
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain, DoNotMixWet}, Source: "[IRRI-SUN]", Trust: Read,
	},
	{
		ID: DryMachine, When: ThisLot, Band: MendBand, Dries: true, Task: Drying, Cause: "not_dried_enough", Tool: "dryer", Paid: true, Beyond: DrySun,
		Work: Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7,
		Cautions: []CautionID{MovingParts, HotGrain, DoNotMixWet, CountLater}, Source: "[RKMP-DRYING]", Trust: Read,
	},
	{
		// What crawls outside the grains is sieved out or leaves in the sun; eggs and
		// grubs inside live on (one trial needed some 54 C, [WEEVIL-HEAT]). So it
		// changes nothing that is measured until the lot was looked at again.
		ID: ClearInsects, When: ThisLot, Band: SpoilBand, Insects: InsectsSeen, About: []g.Field{g.LiveWeevils, g.LiveOthers},
		Cause: "dirty_store", Tool: "hermetic_bag", Paid: true, PaidAs: Hermetic,
		Work: Work{1, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 2, Lasts: SealedDays,
		Cautions: []CautionID{NoFumigant, DryBeforeSeal}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: Winnow, When: ThisLot, Band: MendBand, Passes: 2, Task: Winnowing, Cause: "not_winnowed", Tool: "basket_or_fan", LargestKG: mostByWind,
		// One trial with a hand-cranked winnower took out 88.36 %, at 242 kg an
		// hour by two people; the spread around it is assumed.
		Effects: []Effect{{Field: g.Chaff, Takes: Share{0.75, 0.8836, 0.95}, Trust: Secondary, Source: "[CRRI-WINNOW]"}},
		Work:    Work{0, 2000.0 / 242, Secondary, "[CRRI-WINNOW]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: WinnowMachine, When: ThisLot, Band: MendBand, Passes: 2, Task: Winnowing, Cause: "not_winnowed", Tool: "powered_winnower", Paid: true, Beyond: Winnow,
		// A winnower of one horsepower takes 625 kg an hour; one with pedals 300
		// ([PEDAL-WINNOW]). That it cleans as the hand-cranked one does, and wants two
		// people, is assumed.
		Effects: []Effect{{Field: g.Chaff, Takes: Share{0.75, 0.8836, 0.95}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 2000.0 / 625, Secondary, "[TNAU-WINNOW]"}, DueDays: 7,
		Cautions: []CautionID{DustAndEyes, MovingParts}, Source: "[TNAU-WINNOW]", Trust: Secondary,
	},
	{
		ID: Sieve, When: ThisLot, Band: MendBand, Passes: 2, Cause: "ground_threshing", Tool: "sieve_1_4",
		// Of stones and sand together, how much is sand is not known; of sand alone,
		// most goes.
		Effects: []Effect{
			{Field: g.Stones, Takes: Share{0.3, 0.6, 0.8}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
			{Field: g.SandWeight, Takes: Share{0.6, 0.85, 0.95}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		Work: Work{0, 8, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: PickStones, When: ThisLot, Band: MendBand, Task: StonesAway, Cause: "bare_ground", Tool: "hands_tray", LargestKG: 100,
		Effects: []Effect{{Field: g.Stones, Takes: Share{0.5, 0.7, 0.9}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 60, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: "[LEAF-CLEAN]", Trust: Secondary,
	},
	{
		ID: Destone, When: ThisLot, Band: MendBand, Task: StonesAway, Cause: "bare_ground", Tool: "destoner", Paid: true, Beyond: PickStones,
		// 82.5 to 99.75 % of the stones in milled rice; that paddy gives the same,
		// and the middle, are assumed.
		Effects: []Effect{{Field: g.Stones, Takes: Share{0.825, 0.91, 0.9975}, Trust: Secondary, Source: "[CIGR-DESTONE]"}},
		Work:    Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7,
		Cautions: []CautionID{MovingParts}, Source: "[CIGR-DESTONE]", Trust: Secondary,
	},
	{
		ID: SortByHand, When: ThisLot, Band: MendBand, Task: StonesAway, Cause: "mixed_rubbish", Tool: "hands_tray", LargestKG: 50,
		Effects: []Effect{
			{Field: g.Chaff, Takes: Share{0.3, 0.5, 0.7}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
			{Field: g.Stones, Takes: Share{0.3, 0.5, 0.7}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		Work: Work{0, 70, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: NoSource, Trust: Practice,
	},
	{
		ID: MeasureAgain, When: ThisLot, Band: MeasureBand, Measures: true, Tool: "kit", Work: Work{1, 0, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{LabDecides}, Source: "[GIPSA-SAMPLING]", Trust: Read,
	},
	{
		ID: LookFirst, When: ThisLot, Band: MeasureBand, DueDays: -1, Tool: "hands",
		Cautions: []CautionID{StoredDustMask}, Source: NoSource, Trust: Practice,
	},
	{
		ID: StopDrying, When: ThisLot, Band: KeepBand, About: []g.Field{g.Moisture}, Cause: "over_dried", Tool: "none",
		Cautions: []CautionID{DoNotWet}, Source: "[RKMP-HRY]", Trust: Read,
	},
	{
		ID: KeepApart, When: ThisLot, Band: KeepBand, About: []g.Field{g.Red, g.OtherVariety},
		Cause: "mixed_lots", Tool: "bags", Cautions: []CautionID{NeverSow, LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: MillSoon, When: ThisLot, Band: KeepBand, About: []g.Field{g.PestDamaged}, Cause: "bored", Tool: "mill", DueDays: 14,
		Cautions: []CautionID{MovingParts, NoFumigant}, Source: NoSource, Trust: Practice,
	},
	{
		ID: SellAsIs, When: ThisLot, Band: KeepBand, DueDays: -1, Waits: true, Tool: "none",
		Cautions: []CautionID{LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: Hermetic, When: ThisLot, Band: KeepBand, Cause: "humid_air", Tool: "hermetic_bag", DueDays: 3, Paid: true,
		Work:     Work{1, 2, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{DryBeforeSeal, NoFumigant}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: KeepWell, When: ThisLot, Band: KeepBand, DueDays: -1, Waits: true, Tool: "pallet",
		Cautions: []CautionID{PoisonAway, NoFumigant}, Source: "[IRRI-STORE]", Trust: Read,
	},
}
