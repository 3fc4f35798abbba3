package chance

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// TestBetaQuantileInvertsTheBeta over pans whole and not, from almost nothing
// to all but everything, and agrees with the library's slower search.
func TestBetaQuantileInvertsTheBeta(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	searched := 0
	for range 20000 {
		n := math.Exp(rng.Float64() * math.Log(5000))
		x := n * math.Pow(rng.Float64(), 1+8*rng.Float64())
		for _, c := range [...]struct{ a, b, p float64 }{{x, n - x + 1, 0.025}, {x + 1, n - x, 0.975}} {
			if c.a < 0.3 || c.b < 0.3 { // less is too near to the end for a float64
				continue
			}
			got := betaQuantile(c.a, c.b, c.p)
			if back := mathext.RegIncBeta(c.a, c.b, got); math.Abs(back-c.p) > 1e-8 {
				t.Fatalf("beta(%v, %v): the chance under %v is %v, want %v", c.a, c.b, got, back, c.p)
			}
			lg := lgamma(c.a+c.b) - lgamma(c.a) - lgamma(c.b)
			want := betaSearch(c.a, c.b, c.p, lg)
			if back := mathext.RegIncBeta(c.a, c.b, want); math.Abs(back-c.p) > 1e-9 {
				continue // the search itself is off
			}
			searched++
			if math.Abs(got-want) > 1e-9 {
				t.Fatalf("beta(%v, %v) at %v: %v, the search has %v", c.a, c.b, c.p, got, want)
			}
		}
	}
	if searched < 20000 {
		t.Errorf("the search agrees with the beta only %d times", searched)
	}
}

// BenchmarkBetaQuantile is one bound of a pan.
func BenchmarkBetaQuantile(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		x := float64(i % 30)
		betaQuantile(x+1, 100-x, 0.975)
	}
}

func BenchmarkBetaSearch(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		x := float64(i % 30)
		betaSearch(x+1, 100-x, 0.975, lgamma(101)-lgamma(x+1)-lgamma(100-x))
	}
}
