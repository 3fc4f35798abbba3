package air_test

import (
	"errors"
	"math"
	"testing"
	"threshline/advice/air"
)

// The tables were worked out from the constants of [ASAE-D245] by another
// program, and give % wet basis to two decimals.
func TestD245Tables(t *testing.T) {
	humidity := []float64{0.50, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85, 0.90}
	for _, row := range []struct {
		celsius float64
		model   air.Isotherm
		want    []float64
	}{
		{20, air.Henderson, []float64{11.33, 12.53, 13.15, 13.81, 14.51, 15.28, 16.17, 17.27}},
		{20, air.ChungPfost, []float64{11.18, 12.27, 12.87, 13.52, 14.26, 15.11, 16.15, 17.53}},
		{25, air.Henderson, []float64{11.06, 12.23, 12.84, 13.48, 14.17, 14.92, 15.80, 16.88}},
		{25, air.ChungPfost, []float64{10.86, 11.97, 12.57, 13.23, 13.97, 14.82, 15.87, 17.26}},
		{30, air.Henderson, []float64{10.80, 11.95, 12.55, 13.18, 13.85, 14.60, 15.46, 16.52}},
		{30, air.ChungPfost, []float64{10.57, 11.68, 12.29, 12.95, 13.70, 14.56, 15.61, 17.01}},
		{35, air.Henderson, []float64{10.57, 11.70, 12.28, 12.90, 13.56, 14.30, 15.14, 16.19}},
		{35, air.ChungPfost, []float64{10.30, 11.42, 12.03, 12.70, 13.44, 14.31, 15.37, 16.77}},
	} {
		for i, rh := range humidity {
			got, err := row.model.Moisture(row.celsius, rh)
			if err != nil || math.Abs(got-row.want[i]) > 0.0051 {
				t.Errorf("%s at %v C, %v: %.3f, %v, want %.2f", row.model, row.celsius, rh, got, err, row.want[i])
			}
		}
	}
	// Variety Oro, % dry basis, from the printed constants of [CHILE-ORO].
	for _, row := range []struct {
		celsius float64
		want    [3]float64
	}{{25, [3]float64{13.02, 16.51, 18.71}}, {40, [3]float64{11.91, 15.11, 17.12}}} {
		for i, rh := range []float64{0.5, 0.7, 0.8} {
			wet, err := air.Oro.Moisture(row.celsius, rh)
			if dry := 100 * wet / (100 - wet); err != nil || math.Abs(dry-row.want[i]) > 0.0051 {
				t.Errorf("Oro at %v C, %v: %.3f, %v, want %.2f dry basis", row.celsius, rh, dry, err, row.want[i])
			}
		}
	}
}

// Published pairs of humidity and moisture that owe nothing to D245, within
// half a point of the middle of both models. Sources: the parameters for
// appraising stored paddy of an IOBC paper, [IOBC-PARAM]; [DIPON-17].
func TestEquilibriumAgainstIndependentPairs(t *testing.T) {
	for _, c := range []struct {
		celsius, humidity, want float64
		source                  string
	}{
		{26, 0.65, 12.8, "[IOBC-PARAM], 26 to 35 C"},
		{30, 0.65, 12.8, "[IOBC-PARAM], 26 to 35 C"},
		{26, 0.75, 14.5, "[IOBC-PARAM]"},
		{26, 0.83, 15.5, "[IOBC-PARAM]"},
		{28, 0.78, 14.0, "[DIPON-17], about 78 %"},
	} {
		span, err := air.Equilibrium(c.celsius, c.humidity)
		if err != nil || math.Abs(span.Mid()-c.want) > 0.5 {
			t.Errorf("%v C, %v: %.2f to %.2f, %v, want %.1f within 0.5 (%s)", c.celsius, c.humidity, span.Low, span.High, err, c.want, c.source)
		}
	}
}

func TestIsothermsInvert(t *testing.T) {
	for _, m := range []air.Isotherm{air.Henderson, air.ChungPfost, air.Oro} {
		for celsius := 5.0; celsius <= 50; celsius += 5 {
			last := 0.0
			for rh := 0.20; rh <= 0.95; rh += 0.05 {
				wet, err := m.Moisture(celsius, rh)
				if err != nil || wet <= last {
					t.Fatalf("%s at %v C, %v: %v after %v, %v: moisture must rise with humidity", m, celsius, rh, wet, last, err)
				}
				last = wet
				back, err := m.Humidity(celsius, wet)
				if err != nil || math.Abs(back-rh) > 1e-9 {
					t.Fatalf("%s at %v C: %v gives %v gives %v, %v", m, celsius, rh, wet, back, err)
				}
			}
		}
	}
}

func TestAirOutOfRangeIsRefused(t *testing.T) {
	for _, at := range [][2]float64{{4, 0.7}, {51, 0.7}, {25, 0.1}, {25, 0.99}, {25, 70}, {math.NaN(), 0.7}, {25, math.NaN()}} {
		if _, err := air.Equilibrium(at[0], at[1]); !errors.Is(err, air.ErrRange) {
			t.Errorf("%v: %v, want ErrRange", at, err)
		}
	}
	if _, err := air.Henderson.Humidity(60, 14); !errors.Is(err, air.ErrRange) {
		t.Errorf("60 C: %v", err)
	}
	if _, err := air.Henderson.Humidity(25, 40); !errors.Is(err, air.ErrRange) {
		t.Errorf("40 %%: %v", err)
	}
}
