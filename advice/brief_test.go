package advice_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"threshline/advice"
)

// TestTheBestOfALongListIsThatOfTheWholeAdvice: what is not weighed for a list of lots
// would not have been chosen, whatever the lot, the table and the prices.
func TestTheBestOfALongListIsThatOfTheWholeAdvice(t *testing.T) {
	const seed1, seed2 = 18, 10
	t.Logf("seeds %d %d", seed1, seed2)
	for _, id := range []string{"agmark-paddy", "mbuyu-hand", "ph-paddy", "us-rough-rice"} {
		rng, s := rand.New(rand.NewPCG(seed1, seed2)), book(t, id)
		var brief, whole advice.Adviser
		for i := range 1500 {
			c := aLot(rng, s)
			if len(s.Classes) > 0 {
				c.Readings.Class = s.Classes[0]
			}
			if i%2 == 0 {
				priced(rng, &c)
			}
			if brief.Assess(&c) != nil {
				continue
			}
			want := whole.Advise(&c)
			want.Season, want.Considered = "", nil
			if got := brief.Best(&c); !reflect.DeepEqual(got, want) {
				t.Fatalf("%s, lot %d: %+v\ngot  %+v\nwant %+v", id, i, c.Readings, got, want)
			}
		}
	}
}
