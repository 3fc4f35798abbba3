package grading

import "slices"

// rubbish is what cleaning takes out of a sample, faulty the faults that are
// counted on the pan.
var (
	rubbish = fieldsWhere(func(r *reading) bool { return r.beside && slices.Contains(r.of, SampleWeight) })
	faulty  = partsOf(Counted)

	faultySet = SetOf(faulty...)

	// balanced is a sample and its parts.
	balanced = slices.Concat([]Field{SampleWeight}, rubbish, []Field{CleanWeight})
)

func (d *doubter) moisture() {
	repeats := d.r.Repeats
	if len(repeats) == 0 {
		return
	}
	low, high := slices.Min(repeats), slices.Max(repeats)
	farthest := high
	if low < meterLow {
		farthest = low
	}
	if d.check(Doubt{ID: MoistureNotPaddy, Again: Moisture, Value: farthest, Low: paddyLow, High: paddyHigh, Unit: PercentOf, Blocks: true}, Moisture) {
		return
	}
	d.check(Doubt{ID: MoistureRange, Again: Moisture, Value: farthest, Low: meterLow, High: meterHigh, Unit: PercentOf}, Moisture)
	d.check(Doubt{ID: MoistureSpread, Again: Moisture, Value: high - low, High: widestSpread, Unit: Points}, Moisture)
}

func (d *doubter) sample() {
	weight, ok := d.r.Get(SampleWeight)
	if !ok {
		return
	}
	id := SampleLarge
	if weight < sampleLow {
		id = SampleSmall
	}
	d.check(Doubt{ID: id, Again: SampleWeight, Value: weight, Low: sampleLow, High: sampleHigh, Unit: Grams}, SampleWeight)
}

// cleaning looks at what was taken out and what was left.
func (d *doubter) cleaning() {
	sample, ok := d.r.Get(SampleWeight)
	if !ok || sample <= 0 {
		return
	}
	var dirt Decimal
	fields := make([]Field, 0, FieldEnd)
	for _, f := range rubbish {
		if v, ok := d.r.Get(f); ok {
			dirt += v
			fields = append(fields, f)
		}
	}
	if len(fields) > 0 {
		all := append(fields, SampleWeight)
		if d.check(Doubt{ID: PartsOverSample, Again: SampleWeight, Value: dirt, High: sample, Unit: Grams, Blocks: true}, all...) {
			return
		}
		d.check(Doubt{ID: DirtHigh, Again: fields[0], Value: percent(dirt, sample), High: dirtHigh, Unit: PercentOf}, all...)
	}
	clean, ok := d.r.Get(CleanWeight)
	if !ok || d.check(Doubt{ID: CleanOverSample, Again: CleanWeight, Value: clean, High: sample, Unit: Grams, Blocks: true}, CleanWeight, SampleWeight) {
		return
	}
	if len(fields) == len(rubbish) {
		d.massBalance(sample, dirt+clean)
	}
}

// massBalance compares the sample with its parts: what is won or missing, in %
// of the sample.
func (d *doubter) massBalance(sample, parts Decimal) {
	doubt := Doubt{Again: CleanWeight, Unit: PercentOf}
	if parts > sample {
		doubt.ID, doubt.Value, doubt.High = BalanceGain, percent(parts-sample, sample), balanceGain
		doubt.Blocks = doubt.Value > balanceBlock
	} else {
		doubt.ID, doubt.Value, doubt.High = BalanceLoss, percent(sample-parts, sample), balanceLoss
	}
	d.check(doubt, balanced...)
}

// husking compares brown rice with the clean paddy it came from; without that
// with the sample less what was taken out.
func (d *doubter) husking() {
	brown, ok := d.r.Get(BrownWeight)
	if !ok {
		return
	}
	clean, from := d.cleanWeight()
	if clean > 0 {
		if !d.check(Doubt{ID: BrownOverClean, Again: BrownWeight, Value: brown, High: clean, Unit: Grams, Blocks: true}, BrownWeight, from) {
			id := BrownHigh
			share := percent(brown, clean)
			if share < brownLow {
				id = BrownLow
			}
			d.check(Doubt{ID: id, Again: BrownWeight, Value: share, Low: brownLow, High: brownHigh, Unit: PercentOf}, BrownWeight, from)
		}
	}
	immature, ok := d.r.Get(ImmatureWeight)
	if !ok || d.check(Doubt{ID: ImmatureOver, Again: ImmatureWeight, Value: immature, High: brown, Unit: Grams, Blocks: true}, ImmatureWeight, BrownWeight) || brown <= 0 {
		return
	}
	d.check(Doubt{ID: ImmatureHigh, Again: ImmatureWeight, Value: percent(immature, brown), High: immatureHigh, Unit: PercentOf}, ImmatureWeight, BrownWeight)
}

func (d *doubter) cleanWeight() (Decimal, Field) {
	if clean, ok := d.r.Get(CleanWeight); ok {
		return clean, CleanWeight
	}
	sample, _ := d.r.Get(SampleWeight)
	for _, f := range rubbish {
		v, _ := d.r.Get(f)
		sample -= v
	}
	return sample, SampleWeight
}

// counts looks at the pan. A grain is put down under one of the faults that lie
// beside each other, [ISO-7301-MODEL Annex A], so that together they cannot
// exceed the grains; cracks are looked for apart.
func (d *doubter) counts() {
	counted, ok := d.r.Get(Counted)
	if !ok {
		return
	}
	var faults Decimal
	fields := make([]Field, 0, FieldEnd)
	over := false
	for _, f := range faulty {
		v, ok := d.r.Get(f)
		if !ok {
			continue
		}
		over = d.check(Doubt{ID: CountOver, Again: f, Value: v, High: counted, Unit: GrainCount, Blocks: true}, f, Counted) || over
		if rows[f].beside {
			faults += v
			fields = append(fields, f)
		}
	}
	if !over && len(fields) > 0 {
		d.check(Doubt{ID: FaultsOver, Again: fields[0], Value: faults, High: counted, Unit: GrainCount, Blocks: true}, append(fields, Counted)...)
	}
	switch {
	case counted < countedLow:
		d.check(Doubt{ID: CountedFew, Again: Counted, Value: counted, Low: countedLow, High: countedHigh, Unit: GrainCount}, Counted)
	case counted > countedHigh:
		d.check(Doubt{ID: CountedMany, Again: Counted, Value: counted, Low: countedLow, High: countedHigh, Unit: GrainCount}, Counted)
	case counted > PanGrains*One && counted%(PanGrains*One) != 0:
		pans := counted / (PanGrains * One) * PanGrains * One
		d.found = append(d.found, Doubt{ID: CountedUneven, Fields: []Field{Counted}, Again: Counted, Value: counted, Low: pans, High: pans + PanGrains*One, Unit: GrainCount})
	}
}

// values adds up the shares given directly of one basis: those that are parts
// side by side, so not a complement, a part of another or a sum of others.
func (d *doubter) values(s *Standard) {
	if len(d.r.Values) == 0 {
		return
	}
	totals := map[Basis]*Doubt{}
	var order []Basis
	for i := range s.Parameters {
		p := &s.Parameters[i]
		v, ok := d.r.Values[p.ID]
		if !ok || p.Unit != PercentWeight || p.PartOf != "" || s.isWholeOrSum(p) {
			continue
		}
		t := totals[p.Basis]
		if t == nil {
			t = &Doubt{ID: ValuesOverWhole, High: 100 * One, Unit: PercentOf, Blocks: true}
			totals[p.Basis] = t
			order = append(order, p.Basis)
		}
		t.Value += v
		t.Parameters = append(t.Parameters, p.ID)
	}
	for _, b := range order {
		d.check(*totals[b])
	}
}

// isWholeOrSum reports whether a parameter is no part beside others: a yield or
// purity (limited from below), or made of other parameters.
func (s *Standard) isWholeOrSum(p *Parameter) bool {
	for _, t := range p.Terms {
		if t.Kind == ValueOf || t.Negative {
			return true
		}
	}
	for i := range s.Grades {
		for _, limits := range s.Grades[i].Limits {
			if b, ok := limits[p.ID]; ok && b.Min != nil {
				return true
			}
		}
	}
	return false
}
