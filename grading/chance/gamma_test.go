package chance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// TestGammaQuantileIsCloseEnough compares with the library's inverse, which is
// exact and slow. It looks inside the package: the function has no other face.
func TestGammaQuantileIsCloseEnough(t *testing.T) {
	for _, p := range []float64{0.025, 0.975} {
		from := 0.05
		if p > 0.5 {
			from = 1 // an upper bound has one particle more than was seen
		}
		for shape := from; shape < 300; shape *= 1.07 {
			got, want := gammaQuantile(shape, p), mathext.GammaIncRegInv(shape, p)
			tolerance := 0.001*want + 1e-9
			if shape >= rootShape {
				tolerance = 0.03 * want
			}
			if shape >= rootShape && p > 0.5 {
				tolerance = 0.001 * want
			}
			if math.Abs(got-want) > tolerance || math.IsNaN(got) {
				t.Errorf("shape %.3f, p %v: %v, want %v", shape, p, got, want)
			}
		}
	}
}

// TestGammaChanceIsCloseEnough: where the cube root takes over, it agrees.
func TestGammaChanceIsCloseEnough(t *testing.T) {
	for _, shape := range []float64{201, 400, 3000} {
		for z := -4.0; z <= 4; z += 0.25 {
			x := shape + z*math.Sqrt(shape)
			if got, want := gammaChance(shape, x, lgamma(shape)), mathext.GammaIncReg(shape, x); math.Abs(got-want) > 5e-5 {
				t.Errorf("shape %v at %v: %v, want %v", shape, x, got, want)
			}
		}
	}
}

// TestGammaChanceIsTheLibrarys to 1e-11, on either side of the shape and far out.
func TestGammaChanceIsTheLibrarys(t *testing.T) {
	for shape := 0.01; shape <= wideShape; shape *= 1.13 {
		for _, far := range []float64{1e-6, 0.01, 0.1, 0.3, 0.6, 0.9, 0.99, 1, 1.01, 1.2, 1.6, 2.5, 4, 8, 30, 1e3} {
			x := shape * far
			got, want := gammaChance(shape, x, lgamma(shape)), mathext.GammaIncReg(shape, x)
			if math.Abs(got-want) > 1e-11 || math.IsNaN(got) {
				t.Errorf("shape %v at %v: %v, want %v", shape, x, got, want)
			}
		}
	}
}
