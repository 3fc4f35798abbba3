package hands_test

import (
	"math"
	"testing"

	"threshline/advice"
	"threshline/session/ledger/figure"
	"threshline/session/ledger/hands"
	"threshline/session/programme"
)

func TestPairsAddUp(t *testing.T) {
	value := func(said, measured float64) []programme.HandValue {
		return []programme.HandValue{{Parameter: "chaff", Said: said, Doubt: 1, Measured: measured}}
	}
	h := hands.Hold([]programme.HandPair{
		{Stated: true, Held: true, Chance: 0.7, Values: value(3, 2), ByHand: advice.Winnow, ByKit: advice.Winnow},
		{Stated: true, Chance: 0.9, Values: value(5, 2), ByHand: advice.DrySun, ByKit: advice.Winnow},
		{Values: value(2, 2), ByKit: advice.Winnow},
		{Tried: advice.DrySun, ByKit: advice.DrySun}, {Tried: advice.DrySun, ByKit: advice.Winnow},
		{ByHand: advice.Winnow}, {}, {Tried: advice.Winnow},
		{Apart: programme.PairLate, Stated: true, Held: true, Values: value(99, 0)}, {Apart: programme.PairOtherTable},
	})
	if h.Compared != 8 || h.Late != 1 || h.OtherTable != 1 {
		t.Errorf("%d pairs, %d late, %d of another table", h.Compared, h.Late, h.OtherTable)
	}
	if h.InGrades != (figure.Share{Count: 1, Of: 2}) || math.Abs(h.Chance-0.8) > 1e-12 {
		t.Errorf("held %+v, said with %v", h.InGrades, h.Chance)
	}
	if h.Same != (figure.Share{Count: 2, Of: 5}) || h.Silent != (figure.Share{Count: 1, Of: 5}) || h.Needless != (figure.Share{Count: 1, Of: 3}) {
		t.Errorf("remedies: same %+v, silent %+v, needless %+v", h.Same, h.Silent, h.Needless)
	}
	// Differences of 1, 3 and 0: mean 4/3, standard deviation 1.5275, and Student's
	// 97.5 % point for 2 degrees of freedom is 4.3027 [NIST-EDA3672].
	v := h.Values[0]
	half := 4.3027 * 1.52753 / math.Sqrt(3)
	if len(h.Values) != 1 || v.Pairs != 3 || !v.Known || math.Abs(v.Off-4.0/3) > 1e-9 || math.Abs(v.Low-(4.0/3-half)) > 1e-3 || math.Abs(v.High-(4.0/3+half)) > 1e-3 {
		t.Errorf("chaff: %+v, want off by 1.333 give or take %.3f", v, half)
	}
	if math.Abs(v.Typical-math.Sqrt(10.0/3)) > 1e-9 || v.Within != (figure.Share{Count: 2, Of: 3}) || math.Abs(v.Said-10.0/3) > 1e-9 || v.Measured != 2 {
		t.Errorf("chaff: %+v", v)
	}
	if one := hands.Hold([]programme.HandPair{{Values: value(3, 2)}}).Values[0]; one.Known || one.Off != 1 {
		t.Errorf("one pair: %+v, want no interval", one)
	}
}
