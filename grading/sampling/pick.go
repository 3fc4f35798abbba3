package sampling

// Pick chooses which bags to spear: count of bags, spread evenly from a start
// that the entropy gives, numbered from 1 in the order in which they stand. The
// same entropy gives the same bags, and any will do: it is scattered first, so
// that a time in whole seconds is as good as a random number. Count is cut to
// 0 to bags. See From for the chance that each bag has.
func Pick(bags, count int, entropy uint64) []int {
	if bags < 1 {
		return nil
	}
	return From(bags, count, int(scatter(entropy)%uint64(bags)))
}

// From is Pick from a given start, 0 to bags-1. Over all starts each bag of the
// lot is picked equally often, count times in bags, so that nobody can put the
// good ones where the spear will go.
// Source: [INDIA-STACK], "every r-th bag from a random start"; that the step is
// spread so that none is left out is ours.
func From(bags, count, start int) []int {
	bags = max(bags, 0)
	count = min(max(count, 0), bags)
	picked := make([]int, count)
	for i := range picked {
		picked[i] = (start+i*bags)/count + 1
	}
	return picked
}

// scatter spreads the bits of x over all of the result, by the finisher of
// SplitMix64: one to one, so that no start is favoured.
func scatter(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
