package chance_test

import (
	"errors"
	"math"
	"testing"

	"threshline/grading/chance"
)

// TestIntervalPublished checks bounds against the exact table for 100 grains,
// computed apart from this project from the formula of [NIST-PRC242], of which
// 0, 1 and 5 of 100, 3 of 20 and 42 of 100 agree with values in print.
func TestIntervalPublished(t *testing.T) {
	for _, c := range []struct {
		x, n      int
		low, high float64 // %
		digits    float64 // half of the last printed digit
	}{
		{0, 100, 0, 3.6217, 5e-5},
		{1, 100, 0.0253, 5.4459, 5e-5},
		{2, 100, 0.2431, 7.0384, 5e-5},
		{3, 100, 0.6230, 8.5176, 5e-5},
		{4, 100, 1.1004, 9.9257, 5e-5},
		{5, 100, 1.6432, 11.2835, 5e-5},
		{6, 100, 2.2335, 12.6030, 5e-5},
		{7, 100, 2.8605, 13.8920, 5e-5},
		{8, 100, 3.5172, 15.1558, 5e-5},
		{9, 100, 4.1984, 16.3982, 5e-5},
		{10, 100, 4.9005, 17.6223, 5e-5},
		{12, 100, 6.3569, 20.0236, 5e-5},
		{15, 100, 8.6454, 23.5308, 5e-5},
		{20, 100, 12.6656, 29.1843, 5e-5},
		// 34.65524958 in double precision by summing the binomial: a table
		// rounded twice (34.65525, then 34.6553) is one too high.
		{25, 100, 16.8780, 34.6552, 5e-5},
		{50, 100, 39.8321, 60.1679, 5e-5},
		{100, 100, 96.3783, 100, 5e-5},
		{3, 20, 3.21, 37.89, 5e-3},
		{42, 100, 32.20, 52.29, 5e-3},
		{0, 50, 0, 7.11, 5e-3},
		{0, 200, 0, 1.83, 5e-3},
		{0, 400, 0, 0.92, 5e-3},
	} {
		low, high, err := chance.Interval(c.x, c.n, 0.95)
		if err != nil {
			t.Fatalf("Interval(%d, %d): %v", c.x, c.n, err)
		}
		if math.Abs(100*low-c.low) > c.digits*1.001 || math.Abs(100*high-c.high) > c.digits*1.001 {
			t.Errorf("Interval(%d of %d) = %.5f to %.5f %%, want %v to %v %%", c.x, c.n, 100*low, 100*high, c.low, c.high)
		}
	}
}

// TestIntervalOneSided: the upper end of a 90 % interval is the one-sided 95 %
// bound, 2.9513 % for none of 100.
func TestIntervalOneSided(t *testing.T) {
	_, high, err := chance.Interval(0, 100, 0.90)
	if err != nil || math.Abs(100*high-2.9513) > 5e-5 {
		t.Errorf("one-sided bound of 0 of 100 = %.5f %%, %v; want 2.9513 %%", 100*high, err)
	}
}

// TestIntervalIsTheBinomials: at the lower bound, x or more faulty are as rare
// as the tail; at the upper, x or fewer. The binomial is summed here term by
// term, apart from the incomplete beta function that the bounds come from.
func TestIntervalIsTheBinomials(t *testing.T) {
	for _, n := range []int{1, 7, 100, 400, 1000} {
		for x := 0; x <= n; x += max(1, n/37) {
			low, high, err := chance.Interval(x, n, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if x > 0 {
				if p := 1 - binomial(x-1, n, low); math.Abs(p-0.025) > 1e-6 {
					t.Errorf("P(>=%d of %d) at the lower bound %.6f is %.8f, want 0.025", x, n, low, p)
				}
			}
			if x < n {
				if p := binomial(x, n, high); math.Abs(p-0.025) > 1e-6 {
					t.Errorf("P(<=%d of %d) at the upper bound %.6f is %.8f, want 0.025", x, n, high, p)
				}
			}
		}
	}
}

// binomial is P(X <= x) of n draws at p.
func binomial(x, n int, p float64) float64 {
	sum := 0.0
	for k := 0; k <= x; k++ {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(k + 1))
		c, _ := math.Lgamma(float64(n - k + 1))
		sum += math.Exp(a - b - c + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	}
	return sum
}

func TestIntervalRefusesWhatCannotBe(t *testing.T) {
	for _, c := range []struct {
		x, n  int
		level float64
	}{{0, 0, 0.95}, {-1, 100, 0.95}, {101, 100, 0.95}, {1, 100, 0}, {1, 100, 1}, {1, 100, math.NaN()}} {
		if _, _, err := chance.Interval(c.x, c.n, c.level); !errors.Is(err, chance.ErrInterval) {
			t.Errorf("Interval(%d, %d, %v) = %v, want ErrInterval", c.x, c.n, c.level, err)
		}
	}
}
