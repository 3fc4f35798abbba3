package advice_test

import (
	"testing"
	"time"

	"threshline/advice"
)

// climate is an invented place: dry in July, damp in April.
func climate() (c advice.Climate) {
	for i := range c {
		c[i] = advice.Month{Celsius: 27, Humidity: 0.70}
	}
	c[time.April-1] = advice.Month{Celsius: 28, Humidity: 0.82}
	c[time.July-1] = advice.Month{Celsius: 24, Humidity: 0.55}
	c[time.August-1] = advice.Month{}
	return c
}

func TestSafeKeeping(t *testing.T) {
	for _, c := range []struct {
		name     string
		moisture string
		month    time.Month
		known    bool
		canStay  bool
	}{
		{"13 % cannot stay in April's damp", "13", time.April, true, false},
		{"14 % stays in January", "14", time.January, true, true},
		{"12.5 % is held by neither model at 70 %", "12.5", time.January, true, false},
		{"dry July takes water off", "13", time.July, true, true},
		{"August is not known", "13", time.August, false, false},
		{"there is no month 13", "13", 13, false, false},
		{"there is no month 0", "13", 0, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := advice.SafeKeeping(climate(), dec(t, c.moisture), c.month)
			if k.Known != c.known || k.CanStay != c.canStay {
				t.Errorf("%+v", k)
			}
		})
	}
	// At 30 C open bags cannot stay at 14 % over 75 to 77 % humidity, nor at
	// 13 % over about 70 %: read off the D245 tables.
	hot := func(rh float64) (c advice.Climate) { c[0] = advice.Month{Celsius: 30, Humidity: rh}; return c }
	if k := advice.SafeKeeping(hot(0.78), dec(t, "14"), time.January); k.CanStay {
		t.Errorf("14 %% at 78 %%: %+v", k)
	}
	if k := advice.SafeKeeping(hot(0.74), dec(t, "14"), time.January); !k.CanStay {
		t.Errorf("14 %% at 74 %%: %+v", k)
	}
	if k := advice.SafeKeeping(hot(0.73), dec(t, "13"), time.January); k.CanStay {
		t.Errorf("13 %% at 73 %%: %+v", k)
	}
	if k := advice.SafeKeeping(hot(0.60), dec(t, "12"), time.January); !k.MouldSafe || k.HumidityBetween > 0.65 { // [IRRI-ERH]
		t.Errorf("12 %% holds mould back: %+v", k)
	}
	if k := advice.SafeKeeping(hot(0.60), dec(t, "14"), time.January); k.MouldSafe {
		t.Errorf("14 %% does not hold mould back: %+v", k)
	}
}

func TestKeepingThroughFindsTheDampestMonth(t *testing.T) {
	if k := advice.KeepingThrough(climate(), dec(t, "13"), time.February, 90); k.Month != time.April || k.CanStay {
		t.Errorf("February for three months: %+v", k)
	}
	if k := advice.KeepingThrough(climate(), dec(t, "13"), time.December, 400); k.Month != time.April {
		t.Errorf("December over the year's end: %+v", k)
	}
	if k := advice.KeepingThrough(climate(), dec(t, "13"), time.August, 10); k.Known {
		t.Errorf("an unknown month: %+v", k)
	}
}
