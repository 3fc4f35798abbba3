package advice

import g "threshline/grading"

// The spreads and figures below that say Assumed are ours: no source was found
// for what a hand sieve, a picker or a destoner removes, nor for how much less
// red rice or discoloured grain a season's change brings ([ASSUMED-ADVICE]).

// table holds every remedy for this lot, then those for the next season. It
// is constant.
var table = append(thisLot, nextSeason...)

var thisLot = []Remedy{
	{
		ID: RejectTreated, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.TreatedSeed},
		Cautions: []CautionID{NotFood, LabDecides}, Source: "[SC-TREATED]", Trust: Secondary,
	},
	{
		ID: Quarantine, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Mouldy, g.Musty},
		Cautions: []CautionID{NotEaten, StoredDustMask, LabDecides}, Source: "[DEFRA-MOULD]", Trust: Secondary,
	},
	{
		ID: CoolInsects, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Heating},
		About:    []g.Field{g.LiveWeevils, g.LiveOthers},
		Work:     Work{2, 10, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NoFumigant, NotEaten, HotGrain, LabDecides}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: SpreadAndLook, When: ThisLot, Band: SafetyBand, Flags: []g.Flag{g.Heating},
		Work:     Work{1, 6, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{NotEaten, StoredDustMask, NoFumigant}, Source: NoSource, Trust: Practice,
	},
	{
		ID: DrySun, When: ThisLot, Band: MendBand, Dries: true,
		Work: Work{2, 16, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 1,
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain, DoNotMixWet}, Source: "[IRRI-SUN]", Trust: Read,
	},
	{
		ID: DryMachine, When: ThisLot, Band: MendBand, Dries: true, Paid: true,
		Work: Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 1,
		Cautions: []CautionID{MovingParts, HotGrain, DoNotMixWet, CountLater}, Source: "[RKMP-DRYING]", Trust: Read,
	},
	{
		ID: ClearInsects, When: ThisLot, Band: SpoilBand,
		// How much sunning and sieving clears is assumed: it may clear nothing.
		Effects: []Effect{
			{g.LiveWeevils, Share{0, 1, 1}, Assumed, "[ASSUMED-ADVICE]"},
			{g.LiveOthers, Share{0, 1, 1}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Work: Work{2, 16, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 2,
		Cautions: []CautionID{NoFumigant, NotOnRoad, HotGrain, DryBeforeSeal}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: Winnow, When: ThisLot, Band: MendBand, Passes: 2,
		// One trial with a hand-cranked winnower took out 88.36 %, at 242 kg an
		// hour by two people; the spread around it is assumed.
		Effects: []Effect{{g.Organic, Share{0.75, 0.8836, 0.95}, Secondary, "[CRRI-WINNOW]"}},
		Work:    Work{0, 2000.0 / 242, Secondary, "[CRRI-WINNOW]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: Sieve, When: ThisLot, Band: MendBand, Passes: 2,
		Effects: []Effect{{g.Inorganic, Share{0.3, 0.6, 0.8}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 8, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 3,
		Cautions: []CautionID{DustAndEyes}, Source: "[IRRI-CLEAN]", Trust: Read,
	},
	{
		ID: PickStones, When: ThisLot, Band: MendBand, LargestKG: 100,
		Effects: []Effect{{g.Inorganic, Share{0.5, 0.7, 0.9}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{0, 60, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: "[LEAF-CLEAN]", Trust: Secondary,
	},
	{
		ID: Destone, When: ThisLot, Band: MendBand, Paid: true,
		Effects: []Effect{{g.Inorganic, Share{0.8, 0.9, 0.97}, Assumed, "[ASSUMED-ADVICE]"}},
		Work:    Work{2, 2, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 7,
		Cautions: []CautionID{MovingParts}, Source: NoSource, Trust: Practice,
	},
	{
		ID: SortByHand, When: ThisLot, Band: MendBand, LargestKG: 50,
		Effects: []Effect{
			{g.Organic, Share{0.3, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
			{g.Inorganic, Share{0.3, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Work: Work{0, 70, Assumed, "[ASSUMED-ADVICE]"}, DueDays: 5,
		Cautions: []CautionID{DustAndEyes}, Source: NoSource, Trust: Practice,
	},
	{
		ID: MeasureAgain, When: ThisLot, Band: MeasureBand, Work: Work{1, 0, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{LabDecides, HandTestsAreNot}, Source: "[GIPSA-SAMPLING]", Trust: Read,
	},
	{
		ID: StopDrying, When: ThisLot, Band: KeepBand, About: []g.Field{g.Moisture},
		Cautions: []CautionID{DoNotWet}, Source: "[RKMP-HRY]", Trust: Read,
	},
	{
		ID: KeepApart, When: ThisLot, Band: KeepBand, About: []g.Field{g.Red, g.OtherVariety}, Flags: []g.Flag{g.OffOdour},
		Cautions: []CautionID{NeverSow, LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: MillSoon, When: ThisLot, Band: KeepBand, About: []g.Field{g.PestDamaged}, DueDays: 14,
		Cautions: []CautionID{MovingParts, NoFumigant}, Source: NoSource, Trust: Practice,
	},
	{
		ID: SellAsIs, When: ThisLot, Band: KeepBand, DueDays: -1,
		Cautions: []CautionID{LabDecides}, Source: NoSource, Trust: Practice,
	},
	{
		ID: Hermetic, When: ThisLot, Band: KeepBand, DueDays: 3,
		Work:     Work{1, 2, Assumed, "[ASSUMED-ADVICE]"},
		Cautions: []CautionID{DryBeforeSeal, NoFumigant}, Source: "[IRRI-HERM]", Trust: Read,
	},
	{
		ID: KeepWell, When: ThisLot, Band: KeepBand, DueDays: -1,
		Cautions: []CautionID{PoisonAway, NoFumigant}, Source: "[IRRI-STORE]", Trust: Read,
	},
}
