package advice_test

import (
	"fmt"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard"
)

// What is most worth doing about a lot with chaff in it.
func ExampleAdvise() {
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		fmt.Println(err)
		return
	}
	var r grading.Readings
	for _, m := range []string{"13.2", "13.3", "13.1"} {
		d, _ := grading.ParseDecimal(m)
		r.Repeats = append(r.Repeats, d)
	}
	r.Set(grading.SampleWeight, grading.NewDecimal(200))
	r.Set(grading.Chaff, 36*grading.One/10) // 3.6 g
	r.Set(grading.Stones, 6*grading.One/10) // 0.6 g
	r.Set(grading.BrownWeight, grading.NewDecimal(152))
	r.Set(grading.ImmatureWeight, 3*grading.One/10)
	r.Set(grading.Counted, grading.NewDecimal(1000))
	for _, f := range []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety} {
		r.Set(f, grading.NewDecimal(1))
	}
	result, err := chance.Assess(s, r, chance.Certainty{})
	if err != nil {
		fmt.Println(err)
		return
	}
	a := advice.Advise(advice.Case{Standard: s, Readings: r, Result: result, KG: grading.NewDecimal(600)})
	best := a.Best
	fmt.Printf("grade %s\n", result.Grade)
	fmt.Printf("%s, because %s is %s and %s is the limit\n", best.Remedy, best.Because.Parameter, best.Because.Value, best.Because.Limit)
	fmt.Printf("becomes %s, %.1f kg of chaff, caution %v\n", best.Becomes, best.KGLost, best.Cautions)
	// Output:
	// grade III
	// winnow, because foreign_matter is 2.1 and 2 is the limit
	// becomes I, 9.5 kg of chaff, caution [dust]
}

// 1000 kg from 25 % to 14 %: 872 kg, as [IRRI-MC] prints it.
func ExampleDry() {
	kg, err := advice.Dry(grading.NewDecimal(1000), grading.NewDecimal(25), grading.NewDecimal(14))
	fmt.Println(kg.Round(0), err)
	_, err = advice.Dry(grading.NewDecimal(1000), grading.NewDecimal(12), grading.NewDecimal(14))
	fmt.Println(err)
	// Output:
	// 872 <nil>
	// advice: the target is wetter than the grain: from "12" % to "14" %
}

// Open bags at 13 % in a month of 28 degrees and 78 % humidity.
func ExampleSafeKeeping() {
	var climate advice.Climate
	climate[time.April-1] = advice.Month{Celsius: 28, Humidity: 0.78}
	k := advice.SafeKeeping(climate, grading.NewDecimal(13), time.April)
	fmt.Printf("can stay: %v, settles at %.1f to %.1f %%\n", k.CanStay, k.Settles.Low, k.Settles.High)
	// Output:
	// can stay: false, settles at 14.3 to 14.4 %
}

// What one season's lots would be, were all of them winnowed.
func ExampleAfter() {
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		fmt.Println(err)
		return
	}
	var r grading.Readings
	r.Set(grading.SampleWeight, grading.NewDecimal(200))
	r.Set(grading.Chaff, grading.NewDecimal(5))
	after, factor, applies := advice.After(s, r, advice.Winnow)
	left, _ := after.Get(grading.Chaff)
	fmt.Println(left, "g of chaff left,", applies)
	fmt.Printf("%.1f %% of the weight stays\n", factor*100)
	// Output:
	// 0.582 g of chaff left, true
	// 97.8 % of the weight stays
}

// A click between the teeth is about 15 %: not dry.
func ExampleBite_Sign() {
	sign := advice.CracksClick.Sign()
	fmt.Println(sign.Verdict, sign.About)
	// Output:
	// too wet 15
}
