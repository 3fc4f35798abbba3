package advice

import g "threshline/grading"

// nextSeason holds the remedies that act on the next lot only: what lies
// inside the grain of this one cannot be mended.
var nextSeason = []Remedy{
	{
		ID: BetterSeed, When: NextSeason, Band: SeasonBand, Cause: "mixed_seed", Tool: "certified_seed", DueDays: -1, Paid: true, Sown: true,
		Effects: []Effect{
			{Field: g.Red, Takes: Share{0.5, 0.8, 0.95}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
			{Field: g.OtherVariety, Takes: Share{0.5, 0.8, 0.95}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
			// Mixed seed ripens unevenly ([FAO-LANTIN]), so that some is cut green; how
			// much of it pure seed spares is assumed.
			{Field: g.ImmatureWeight, Takes: Share{0, 0.2, 0.4}, Trust: Assumed, Source: "[ASSUMED-ADVICE]", Aside: true},
		},
		MeanwhileOut: KeepApart,
		Cautions:     []CautionID{NeverSow}, Source: "[IRRI-SEED]", Trust: Read,
	},
	{
		ID: StoreHygiene, When: NextSeason, Band: SeasonBand, From: FromStore, Cause: "dirty_store", Tool: "broom", DueDays: -1, Meanwhile: MillSoon,
		Effects: []Effect{
			{Field: g.PestDamaged, Takes: Share{0.2, 0.5, 0.7}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		About:    []g.Field{g.LiveWeevils, g.LiveOthers},
		Cautions: []CautionID{NoFumigant, DustAndEyes, PoisonAway}, Source: "[FAO-LANTIN]", Trust: Read,
	},
	{
		// Bugs that suck the milky grain, and borers: what the store did not do.
		ID: FieldPests, When: NextSeason, Band: SeasonBand, From: FromField, Cause: "pests_in_the_crop", Tool: "eyes", DueDays: -1,
		Effects: []Effect{
			{Field: g.PestDamaged, Takes: Share{0.1, 0.3, 0.5}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{LabelOnly}, Source: NoSource, Trust: Practice,
	},
	{
		ID: DryInADay, When: NextSeason, Band: SeasonBand, Cause: "late_drying", Tool: "tarpaulin_rake", DueDays: -1,
		Effects: []Effect{
			{Field: g.Discoloured, Takes: Share{0.3, 0.6, 0.8}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		About: []g.Field{g.Moisture}, Flags: []g.Flag{g.Mouldy, g.Musty, g.Warm},
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain}, Source: "[IRRI-DRY]", Trust: Read,
	},
	{
		ID: HarvestInTime, When: NextSeason, Band: SeasonBand, Cause: "early_or_uneven_harvest", Tool: "calendar", DueDays: -1,
		Effects: []Effect{
			{Field: g.ImmatureWeight, Takes: Share{0.3, 0.5, 0.7}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{StopToClear}, Source: "[IRRI-HARV]", Trust: Read,
	},
	{
		ID: DryGently, When: NextSeason, Band: SeasonBand, Cause: "hot_or_rewetted", Tool: "tarpaulin_rake", DueDays: -1,
		// Tempering for four hours can halve the fissured grains.
		Effects: []Effect{
			{Field: g.Cracked, Takes: Share{0.2, 0.5, 0.6}, Trust: Secondary, Source: "[ASABE-TEMPER]"},
		},
		Cautions: []CautionID{HotGrain, DoNotMixWet, CountLater}, Source: "[IRRI-GQ3]", Trust: Read,
	},
	{
		ID: Tarpaulin, When: NextSeason, Band: SeasonBand, Cause: "bare_ground", Tool: "tarpaulin", DueDays: -1, Paid: true,
		Effects: []Effect{
			{Field: g.Stones, Takes: Share{0.4, 0.7, 0.9}, Trust: Assumed, Source: "[ASSUMED-ADVICE]"},
		},
		Cautions: []CautionID{NotOnRoad, DustAndEyes}, Source: "[KALRO-DRY]", Trust: Read,
	},
}
