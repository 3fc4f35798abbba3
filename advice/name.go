package advice

// The remedies for this lot.
const (
	DrySun        RemedyID = "dry_sun"
	DryMachine    RemedyID = "dry_machine"
	Winnow        RemedyID = "winnow"
	WinnowMachine RemedyID = "winnow_machine"
	Sieve         RemedyID = "sieve"
	PickStones    RemedyID = "pick_stones"
	Destone       RemedyID = "destone"
	SortByHand    RemedyID = "sort_by_hand"
	RejectTainted RemedyID = "reject_tainted"
	KeepApart     RemedyID = "keep_apart"
	Quarantine    RemedyID = "quarantine"
	RejectTreated RemedyID = "reject_treated"
	CoolInsects   RemedyID = "cool_insects"
	ClearInsects  RemedyID = "clear_insects"
	SpreadAndLook RemedyID = "spread_and_look"
	StopDrying    RemedyID = "stop_drying"
	MillSoon      RemedyID = "mill_soon"
	MeasureAgain  RemedyID = "measure_again"
	LookFirst     RemedyID = "look_first"
	SellAsIs      RemedyID = "sell_as_is"
	Hermetic      RemedyID = "hermetic"
	KeepWell      RemedyID = "keep_well"
)

// The remedies for next season.
const (
	Tarpaulin     RemedyID = "tarpaulin"
	HarvestInTime RemedyID = "harvest_in_time"
	DryInADay     RemedyID = "dry_in_a_day"
	BetterSeed    RemedyID = "better_seed"
	StoreHygiene  RemedyID = "store_hygiene"
	FieldPests    RemedyID = "field_pests"
	DryGently     RemedyID = "dry_gently"
)

// The cautions. Each travels with the remedies that need it and is never cut.
const (
	DustAndEyes     CautionID = "dust"           // mask, eyes covered, stand upwind
	MovingParts     CautionID = "machine"        // rollers, belts, cylinders; guards on, children away
	HotGrain        CautionID = "hot_grain"      // cover above 50 C in the grain, seed above 42 C
	RainCover       CautionID = "rain"           // cover at once, take in at night
	NotOnRoad       CautionID = "road"           // people die; stones and oil get in
	DoNotMixWet     CautionID = "do_not_mix"     // wet with dry cracks the dry
	DoNotWet        CautionID = "do_not_wet"     // taking up water cracks the grain
	Tainted         CautionID = "tainted"        // smells of chemicals: not eaten, not fed, not blended; only a laboratory can clear it
	NotEaten        CautionID = "mouldy"         // not eaten, not fed, not blended; only a laboratory can clear it
	NotFood         CautionID = "treated_seed"   // never food, feed or oil; a few grains spoil a lot
	NoFumigant      CautionID = "no_fumigant"    // never at home, by nobody but a licensed applicator
	LabelOnly       CautionID = "label_only"     // an insecticide is for the crop and the dose of its label only: [GTZ-LABEL]
	NeverSow        CautionID = "never_sow"      // a mixed or red lot is not seed
	DryBeforeSeal   CautionID = "dry_first"      // sealed wet, it rots
	CountLater      CautionID = "count_later"    // cracks show two days after drying
	LabDecides      CautionID = "lab_decides"    // a hand grade is an estimate
	PoisonAway      CautionID = "poison_away"    // rat poison away from food, children, animals
	StoredDustMask  CautionID = "mould_dust"     // mask and gloves with mouldy grain
	StopToClear     CautionID = "stop_to_clear"  // stop the machine before clearing it
	HandTestsAreNot CautionID = "not_proof_test" // bite and salt never prove dry enough
)

// Cautions lists every caution.
func Cautions() []CautionID {
	return []CautionID{DustAndEyes, MovingParts, HotGrain, RainCover, NotOnRoad, DoNotMixWet, DoNotWet, NotEaten, Tainted, NotFood,
		NoFumigant, LabelOnly, NeverSow, DryBeforeSeal, CountLater, LabDecides, PoisonAway, StoredDustMask, StopToClear, HandTestsAreNot}
}

// Why a remedy was chosen.
const (
	ForSafety      ReasonID = "for_safety"      // a safety stop
	WillSpoil      ReasonID = "will_spoil"      // gets worse by the day
	Mends          ReasonID = "mends"           // most gained in this lot
	TooClose       ReasonID = "too_close"       // borderline: measure again before acting
	Unmeasured     ReasonID = "unmeasured"      // the moisture is not known
	Unlooked       ReasonID = "unlooked"        // nobody is known to have looked, smelt and felt for signs
	FixesCause     ReasonID = "fixes_cause"     // the cause lies before this lot
	Recurs         ReasonID = "recurs"          // the same thing held earlier lots down
	Keeps          ReasonID = "keeps"           // nothing to mend: keep it so
	NothingToMend  ReasonID = "nothing_to_mend" // nothing known helps this grade
	NotWorthIt     ReasonID = "not_worth_it"    // what would mend it costs more than it brings
	StepOfSet      ReasonID = "step_of_set"     // a further step of the chosen set
	HandlesThisLot ReasonID = "handles_lot"     // what to do with this lot meanwhile
)

// Why a remedy lost.
const (
	NotFound    ReasonID = "not_found"    // nothing in this lot calls for it
	NotMeasured ReasonID = "not_measured" // what it acts on was not measured
	NoGain      ReasonID = "no_gain"      // too little or nothing gained
	LessGain    ReasonID = "less_gain"    // another of its band gains more
	OnceOnly    ReasonID = "once_only"    // another cause comes back time after time
	Dearer      ReasonID = "dearer"       // gains the same, costs more or comes later
	AfterUrgent ReasonID = "after_urgent" // something more urgent comes first
	NotOffered  ReasonID = "not_offered"  // the programme gives no tariff for it
	LotTooLarge ReasonID = "lot_too_large"
	NotClose    ReasonID = "not_close" // no limit is near enough to measure again
)

// Reasons lists every reason, chosen ones first.
func Reasons() []ReasonID {
	return []ReasonID{ForSafety, WillSpoil, Mends, TooClose, Unmeasured, Unlooked, FixesCause, Recurs, Keeps, NothingToMend, NotWorthIt, StepOfSet,
		HandlesThisLot, NotFound, NotMeasured, NoGain, LessGain, OnceOnly, Dearer, AfterUrgent, NotOffered, LotTooLarge, NotClose}
}
