package sampling

// Pick chooses which bags to spear: count of bags, spread evenly from a start
// that the entropy gives, numbered from 1 in the order in which they stand. Each
// bag of the lot has the same chance, count in bags, so that nobody can put
// the good ones where the spear will go. The start is the caller's to keep: the
// same entropy gives the same bags. Count is cut to 0 to bags.
// Source: [INDIA-STACK], "every r-th bag from a random start"; that the step is
// spread so that none is left out is ours.
func Pick(bags, count int, entropy uint64) []int {
	bags = max(bags, 0)
	count = min(max(count, 0), bags)
	picked := make([]int, count)
	if count == 0 {
		return picked
	}
	start := int(entropy % uint64(bags))
	for i := range picked {
		picked[i] = (start+i*bags)/count + 1
	}
	return picked
}

// Steady tells whether picked bags lie at one step, so that they can be said as
// "from the first, every step-th". One bag or none has no step.
func Steady(picked []int) (first, step int, ok bool) {
	if len(picked) < 2 {
		return 0, 0, false
	}
	first, step = picked[0], picked[1]-picked[0]
	for i := 2; i < len(picked); i++ {
		if picked[i]-picked[i-1] != step {
			return 0, 0, false
		}
	}
	return first, step, true
}
