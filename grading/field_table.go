package grading

// FieldKind says what sort of number a reading is.
type FieldKind uint8

// The kinds of reading.
const (
	PercentField FieldKind = iota // % wet basis, several repeats
	WeightField                   // g
	CountField                    // whole grains or insects
	FlagField                     // seen or smelt, or not: it has no number
)

// Group is readings that are taken together. It says how Combine pools them.
type Group uint8

// The groups. A field of none cannot be combined.
const (
	noGroup Group = iota
	Water         // the meter's readings: put side by side
	Weighed       // parts of one weighed sample: added, all of them or none
	Pan           // grains of one pan: added, all of them or none
	Insects       // live ones: added
	Signs         // seen or smelt: once raised it stays
)

// reading is one row of the table of readings.
type reading struct {
	// field is the number under which it is stored, for ever; NoField for a
	// flag, which is stored by its name.
	field Field
	// name is how files, programs and words know it.
	name  string
	kind  FieldKind
	group Group
	// screen is the screen that asks for it; "" when none does.
	screen string
	// of are the readings that it is a part of: it exceeds none of them. Shares
	// are taken of the first.
	of []Field
	// like is an entry to show how one looks; invented.
	like string
	// beside says that it lies beside the other parts of its whole, so that all
	// of them together cannot exceed that either.
	beside bool
	// lasting says that nothing done to the lot lessens it, and that it does not
	// grow in the store.
	lasting bool
	// spare says that two samples are pooled even if only one of them has this
	// reading; the pooled sample then does not have it.
	spare bool
	// learnt says that we learn how much of it lots usually have.
	learnt bool
}

// readingTable is every reading there is, in working order: the order in which
// a person is asked, and in which readings are written. All lists and loops over
// fields come from it. The order and the sieves are common practice, no source
// [HAND-PROCEDURE]; how to close a meter is in [IRRI-METER].
var readingTable = []reading{
	{field: Moisture, name: "moisture", kind: PercentField, group: Water, screen: "moisture", like: "13.8", learnt: true},
	{field: SampleWeight, name: "sample_g", kind: WeightField, group: Weighed, screen: "sample", like: "20"},
	{field: Chaff, name: "chaff_g", kind: WeightField, group: Weighed, screen: "dirt", of: []Field{SampleWeight}, like: "0.24", beside: true, learnt: true},
	{field: Stones, name: "stones_g", kind: WeightField, group: Weighed, screen: "dirt", of: []Field{SampleWeight}, like: "0.06", beside: true, learnt: true},
	{field: SandWeight, name: "sand_g", kind: WeightField, group: Weighed, screen: "dirt", of: []Field{Stones}, like: "0.02", spare: true},
	{field: CleanWeight, name: "clean_g", kind: WeightField, group: Weighed, screen: "husk", of: []Field{SampleWeight}, like: "19.7"},
	{field: BrownWeight, name: "brown_g", kind: WeightField, group: Weighed, screen: "husk", of: []Field{CleanWeight, SampleWeight}, like: "15.6"},
	{field: BrokenWeight, name: "broken_g", kind: WeightField, group: Weighed, screen: "husk", of: []Field{BrownWeight}, like: "0.4", beside: true},
	{field: ImmatureWeight, name: "immature_g", kind: WeightField, group: Weighed, screen: "husk", of: []Field{BrownWeight}, like: "0.2", beside: true, learnt: true},
	{field: Counted, name: "counted", kind: CountField, group: Pan},
	{field: PestDamaged, name: "pest_damaged", kind: CountField, group: Pan, screen: "pan", of: []Field{Counted}, like: "0", beside: true, learnt: true},
	{field: Discoloured, name: "discoloured", kind: CountField, group: Pan, screen: "pan", of: []Field{Counted}, like: "1", beside: true, lasting: true, learnt: true},
	{field: Red, name: "red", kind: CountField, group: Pan, screen: "pan", of: []Field{Counted}, like: "2", beside: true, lasting: true, learnt: true},
	{field: OtherVariety, name: "other_variety", kind: CountField, group: Pan, screen: "pan", of: []Field{Counted}, like: "0", beside: true, lasting: true, learnt: true},
	{field: Cracked, name: "cracked", kind: CountField, group: Pan, screen: "pan", of: []Field{Counted}, like: "3", lasting: true},
	{field: LiveWeevils, name: "live_weevils", kind: CountField, group: Insects, screen: "insects", like: "0"},
	{field: LiveOthers, name: "live_others", kind: CountField, group: Insects, screen: "insects", like: "2"},
	{name: string(Musty), kind: FlagField, group: Signs, screen: "seen"},
	{name: string(Mouldy), kind: FlagField, group: Signs, screen: "seen"},
	{name: string(Warm), kind: FlagField, group: Signs, screen: "seen"},
	{name: string(TreatedSeed), kind: FlagField, group: Signs, screen: "seen"},
	{name: string(OffOdour), kind: FlagField, group: Signs},
	{name: string(TooWet), kind: FlagField, group: Signs},
	{name: string(VeryWet), kind: FlagField, group: Signs},
}

// rows is the table by field, inOrder its fields in working order.
var (
	rows    = rowsOf(readingTable)
	inOrder = fieldsWhere(func(*reading) bool { return true })
	singles = fieldsWhere(func(r *reading) bool { return r.kind != PercentField })
	asked   = flagsWhere(func(*reading) bool { return true })
)

func rowsOf(table []reading) (byField [FieldEnd]reading) {
	for _, r := range table {
		if r.kind != FlagField {
			byField[r.field] = r
		}
	}
	return byField
}

func fieldsWhere(is func(*reading) bool) (out []Field) {
	for i := range readingTable {
		if r := &readingTable[i]; r.kind != FlagField && is(r) {
			out = append(out, r.field)
		}
	}
	return out
}

func flagsWhere(is func(*reading) bool) (out []Flag) {
	for i := range readingTable {
		if r := &readingTable[i]; r.kind == FlagField && is(r) {
			out = append(out, Flag(r.name))
		}
	}
	return out
}
