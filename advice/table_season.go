package advice

import g "threshline/grading"

// nextSeason holds the remedies that act on the next lot only: what lies
// inside the kernel of this one cannot be mended.
var nextSeason = []Remedy{
	{
		ID: BetterSeed, When: NextSeason, Band: SeasonBand, Cause: "mixed_seed", Tool: "certified_seed", DueDays: -1, Paid: true, Sown: true,
		Effects: []Effect{
			{g.Red, Share{0.5, 0.8, 0.95}, Assumed, "[ASSUMED-ADVICE]"},
			{g.OtherVariety, Share{0.5, 0.8, 0.95}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{NeverSow}, Source: "[IRRI-SEED]", Trust: Read,
	},
	{
		ID: StoreHygiene, When: NextSeason, Band: SeasonBand, Cause: "dirty_store", Tool: "broom", DueDays: -1,
		Effects: []Effect{
			{g.PestDamaged, Share{0.2, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
		},
		About:    []g.Field{g.LiveWeevils, g.LiveOthers},
		Cautions: []CautionID{NoFumigant, DustAndEyes, PoisonAway}, Source: "[FAO-LANTIN]", Trust: Read,
	},
	{
		ID: DryInADay, When: NextSeason, Band: SeasonBand, Cause: "late_drying", Tool: "tarpaulin_rake", DueDays: -1,
		Effects: []Effect{
			{g.Discoloured, Share{0.3, 0.6, 0.8}, Assumed, "[ASSUMED-ADVICE]"},
		},
		About: []g.Field{g.Moisture}, Flags: []g.Flag{g.Mouldy, g.Musty, g.Heating},
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain}, Source: "[IRRI-DRY]", Trust: Read,
	},
	{
		ID: HarvestInTime, When: NextSeason, Band: SeasonBand, Cause: "early_or_uneven_harvest", Tool: "calendar", DueDays: -1,
		Effects: []Effect{
			{g.ImmatureMass, Share{0.3, 0.5, 0.7}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{StopToClear}, Source: "[IRRI-HARV]", Trust: Read,
	},
	{
		ID: DryGently, When: NextSeason, Band: SeasonBand, Cause: "hot_or_rewetted", Tool: "tarpaulin_rake", DueDays: -1,
		// Tempering for four hours can halve the fissured kernels.
		Effects: []Effect{
			{g.Cracked, Share{0.2, 0.5, 0.6}, Secondary, "[ASABE-TEMPER]"},
		},
		Cautions: []CautionID{HotGrain, DoNotMixWet, CountLater}, Source: "[IRRI-GQ3]", Trust: Read,
	},
	{
		ID: Tarpaulin, When: NextSeason, Band: SeasonBand, Cause: "bare_ground", Tool: "tarpaulin", DueDays: -1, Paid: true,
		Effects: []Effect{
			{g.Inorganic, Share{0.4, 0.7, 0.9}, Assumed, "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{NotOnRoad, DustAndEyes}, Source: "[KALRO-DRY]", Trust: Read,
	},
}
