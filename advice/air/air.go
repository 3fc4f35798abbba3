// Package air says what moisture paddy comes to rest at in the air around it, by
// published fits.
package air

import (
	"errors"
	"fmt"
	"math"
)

// ErrRange: air or moisture outside the range that an isotherm is used in.
var ErrRange = errors.New("air: out of range")

// The range in which isotherms are used, inclusive. Source: our choice within
// the tables that the constants were checked on, [ASSUMED-ADVICE]; the fits
// say nothing about freezing, near-dry or saturated air.
const (
	MinCelsius, MaxCelsius   = 5.0, 50.0
	MinHumidity, MaxHumidity = 0.20, 0.95
)

// Isotherm is a published fit between the moisture of paddy at rest and the
// air around it. All fits are a mean between grain that takes up water and
// grain that gives it off: grain that is drying stays above the figure, and
// D245 is said to give too little for it ([BASUNIA-ABE]).
type Isotherm string

// The isotherms.
const (
	// Henderson is the modified Henderson equation with the rough-rice
	// constants of [ASAE-D245] (recalled, and confirmed by a public source file).
	Henderson Isotherm = "modified Henderson, D245"
	// ChungPfost is the modified Chung-Pfost equation, same source.
	ChungPfost Isotherm = "modified Chung-Pfost, D245"
	// Oro is an independent modified Henderson fit to the variety Oro. Source:
	// [CHILE-ORO], mean difference 5.13 %.
	Oro Isotherm = "modified Henderson, variety Oro"
)

// henderson holds the constants of RH = 1 - exp(-K (T+C) M^N), M % dry basis.
type henderson struct{ k, c, n float64 }

// The constants; M is % dry basis, T in degrees Celsius.
const (
	chungPfostA = 594.61  // [ASAE-D245]
	chungPfostB = 0.21732 // [ASAE-D245], per % dry basis
	chungPfostC = 35.703  // [ASAE-D245]
)

func (i Isotherm) henderson() (henderson, bool) {
	switch i {
	case Henderson:
		return henderson{1.9187e-5, 51.161, 2.4451}, true // [ASAE-D245]
	case Oro:
		return henderson{2.712e-5, 40.32191, 2.32574}, true // [CHILE-ORO]
	}
	return henderson{}, false
}

// Moisture returns the moisture at which paddy comes to rest, % wet basis, in
// air of celsius degrees and relative humidity 0 to 1. It returns ErrRange
// outside MinCelsius to MaxCelsius and MinHumidity to MaxHumidity.
func (i Isotherm) Moisture(celsius, humidity float64) (float64, error) {
	if !(celsius >= MinCelsius && celsius <= MaxCelsius) || !(humidity >= MinHumidity && humidity <= MaxHumidity) {
		return 0, fmt.Errorf("%w: %.1f C and %.0f %% humidity, want %.0f to %.0f C and %.0f to %.0f %%", ErrRange,
			celsius, humidity*100, MinCelsius, MaxCelsius, MinHumidity*100, MaxHumidity*100)
	}
	var dry float64
	if h, ok := i.henderson(); ok {
		dry = math.Pow(math.Log(1-humidity)/(-h.k*(celsius+h.c)), 1/h.n)
	} else {
		dry = -math.Log(-(celsius+chungPfostC)*math.Log(humidity)/chungPfostA) / chungPfostB
	}
	return 100 * dry / (100 + dry), nil
}

// Humidity is the relative humidity, 0 to 1, that air between grains of
// moisture % wet basis (1 to 30) comes to at celsius. It returns ErrRange.
func (i Isotherm) Humidity(celsius, moisture float64) (float64, error) {
	if !(celsius >= MinCelsius && celsius <= MaxCelsius) {
		return 0, fmt.Errorf("%w: %.1f C", ErrRange, celsius)
	}
	if !(moisture >= 1 && moisture <= 30) {
		return 0, fmt.Errorf("%w: %.2f %% wet basis, want 1 to 30", ErrRange, moisture)
	}
	dry := 100 * moisture / (100 - moisture)
	if h, ok := i.henderson(); ok {
		return 1 - math.Exp(-h.k*(celsius+h.c)*math.Pow(dry, h.n)), nil
	}
	return math.Exp(-chungPfostA / (celsius + chungPfostC) * math.Exp(-chungPfostB*dry)), nil
}

// Span is a range of moisture, % wet basis: what the models give between them.
type Span struct{ Low, High float64 }

// Mid is the middle of the span.
func (s Span) Mid() float64 { return (s.Low + s.High) / 2 }

// Equilibrium is where paddy settles in air of celsius and humidity by both
// D245 models: their spread is the least doubt there is about it. Errors are
// those of Moisture.
func Equilibrium(celsius, humidity float64) (Span, error) {
	h, err := Henderson.Moisture(celsius, humidity)
	if err != nil {
		return Span{}, err
	}
	c, err := ChungPfost.Moisture(celsius, humidity)
	if err != nil {
		return Span{}, err
	}
	return Span{min(h, c), max(h, c)}, nil
}
