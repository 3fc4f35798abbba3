package advice

import g "threshline/grading"

// The spreads and figures below that say Assumed are ours: no source was found
// for what a hand sieve, a picker or a destoner removes, nor for how much less
// red rice or discoloured grain a season's change brings ([ASSUMED-ADVICE]).

// mostInSun is the largest lot that is spread in the sun, kg: 3 cm of paddy is
// some 17 to 18 kg on a square metre (common practice, no source), so that it
// wants about 570 m2. Source: our choice, [ASSUMED-ADVICE].
const mostInSun = 10000

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
		ID: CoolInsects, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Heating},
		About: []g.Field{g.LiveWeevils, g.LiveOthers}, Cause: "dirty_store", Tool: "tarpaulin",
		Work:     Work{2, 10, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NoFumigant, NotEaten, HotGrain, LabDecides}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: SpreadAndLook, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Heating},
		Cause: "hidden_wet_or_insects", Tool: "tarpaulin", Work: Work{1, 6, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NotEaten, StoredDustMask, NoFumigant}, Source: NoSource, Trust: Practice,
	},
	{
		ID: DrySun, When: ThisLot, Band: MendBand, Dries: true, Cause: "not_dried_enough", Tool: "tarpaulin_rake",
		Work: Work{2, 16, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7, InSun: true, LargestKG: mostInSun,
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain, DoNotMixWet}, Source: "[IRRI-SUN]", Trust: Read,
	},
	{
		ID: DryMachine, When: ThisLot, Band: MendBand, Dries: true, Cause: "not_dried_enough", Tool: "dryer", Paid: true, Beyond: DrySun,
		Work: Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7,
		Cautions: []CautionID{MovingParts, HotGrain, DoNotMixWet, CountLater}, Source: "[RKMP-DRYING]", Trust: Read,
	},
	{
		ID: ClearInsects, When: ThisLot, Band: SpoilBand, Cause: "dirty_store", Tool: "tarpaulin_sieve",
		// How much sunning and sieving clears is assumed: it may clear nothing.
		Effects: []Effect{
			{g.LiveWeevils, Share{0, 1, 1}, Assumed, "[ASSUMED-ADVICE]"},
			{g.LiveOthers, Share{0, 1, 1}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Work: Work{2, 16, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 2, InSun: true,
		Cautions: []CautionID{NoFumigant, NotOnRoad, HotGrain, DryBeforeSeal}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: Winnow, When: ThisLot, Band: MendBand, Passes: 2, Cause: "not_winnowed", Tool: "basket_or_fan",
		// One trial with a hand-cranked winnower took out 88.36 %, at 242 kg an
		// hour by two people; the spread around it is assumed.
		Effects: []Effect{{g.Organic, Share{0.75, 0.8836, 0.95}, Secondary, "[CRRI-WINNOW]"}},
		Work:    Work{0, 2000.0 / 242, Secondary, "[CRRI-WINNOW]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: Sieve, When: ThisLot, Band: MendBand, Passes: 2, Cause: "ground_threshing", Tool: "sieve_1_4",
		Effects: []Effect{{g.Inorganic, Share{0.3, 0.6, 0.8}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 8, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: PickStones, When: ThisLot, Band: MendBand, Cause: "bare_ground", Tool: "hands_tray", LargestKG: 100,
		Effects: []Effect{{g.Inorganic, Share{0.5, 0.7, 0.9}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 60, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: "[LEAF-CLEAN]", Trust: Secondary,
	},
	{
		ID: Destone, When: ThisLot, Band: MendBand, Cause: "bare_ground", Tool: "destoner", Paid: true, Beyond: PickStones,
		Effects: []Effect{{g.Inorganic, Share{0.8, 0.9, 0.97}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7,
		Cautions: []CautionID{MovingParts}, Source: NoSource, Trust: Practice,
	},
	{
		ID: SortByHand, When: ThisLot, Band: MendBand, Cause: "mixed_rubbish", Tool: "hands_tray", LargestKG: 50,
		Effects: []Effect{
			{g.Organic, Share{0.3, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
			{g.Inorganic, Share{0.3, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Work: Work{0, 70, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: NoSource, Trust: Practice,
	},
	{
		ID: MeasureAgain, When: ThisLot, Band: MeasureBand, Tool: "kit", Work: Work{1, 0, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{LabDecides, HandTestsAreNot}, Source: "[GIPSA-SAMPLING]", Trust: Read,
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
		ID: SellAsIs, When: ThisLot, Band: KeepBand, DueDays: -1, Tool: "none",
		Cautions: []CautionID{LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: Hermetic, When: ThisLot, Band: KeepBand, Cause: "humid_air", Tool: "hermetic_bag", DueDays: 3, Paid: true,
		Work:     Work{1, 2, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{DryBeforeSeal, NoFumigant}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: KeepWell, When: ThisLot, Band: KeepBand, DueDays: -1, Tool: "pallet",
		Cautions: []CautionID{PoisonAway, NoFumigant}, Source: "[IRRI-STORE]", Trust: Read,
	},
}
