package screen_test

import (
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session/screen"
)

// money gives a transcript's programme prices by the order of its grades, and
// the buyer's moisture steps: prices=52+47 steps=14-15-1+15-17-3; out=34 is
// what a lot below them fetches. Invented.
func (p *play) money(d *datadriven.TestData) {
	var prices, steps, out, wage string
	d.ScanArgs(p.t, "prices", &prices)
	d.MaybeScanArgs(p.t, "steps", &steps)
	d.MaybeScanArgs(p.t, "out", &out)
	d.MaybeScanArgs(p.t, "wage", &wage)
	programme := p.world.machine.Programme
	programme.Advice.Prices = map[grading.GradeLabel]grading.Decimal{}
	for i, price := range strings.Split(prices, "+") {
		programme.Advice.Prices[programme.Standard.Grades[i].Label] = exact(p.t, price)
	}
	if out != "" {
		programme.Advice.OutPrice = exact(p.t, out)
	}
	if wage != "" {
		programme.Advice.DayWage = exact(p.t, wage)
	}
	programme.Advice.Deductions = nil
	for _, step := range strings.FieldsFunc(steps, func(r rune) bool { return r == '+' }) {
		n := strings.Split(step, "-")
		programme.Advice.Deductions = append(programme.Advice.Deductions,
			advice.Deduction{Over: exact(p.t, n[0]), UpTo: exact(p.t, n[1]), Cut: exact(p.t, n[2])})
	}
}

// standard puts another table in force, as a reload does.
func (p *play) standard(d *datadriven.TestData) string {
	var id string
	d.ScanArgs(p.t, "id", &id)
	table, err := standardtest.ByID(id)
	if err != nil {
		d.Fatalf(p.t, "%v", err)
	}
	programme := *p.world.machine.Programme
	programme.Standard = table
	p.world.machine = screen.NewMachine(&programme, p.world.machine.Words)
	return ""
}

// climate gives every month of a transcript's programme the same air. Invented.
func (p *play) climate(d *datadriven.TestData) {
	var celsius, humidity int
	d.ScanArgs(p.t, "celsius", &celsius)
	d.ScanArgs(p.t, "humidity", &humidity)
	p.world.machine.Programme.Advice.Climate = steady(float64(celsius), float64(humidity)/100)
}

func steady(celsius, humidity float64) (c advice.Climate) {
	for i := range c {
		c[i] = advice.Month{Celsius: celsius, Humidity: humidity}
	}
	return c
}

func exact(t testing.TB, s string) grading.Decimal {
	t.Helper()
	d, err := grading.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A name that a phone would make a link of is kept without its dots, whoever it is
// then shown to.
func TestANameThatHoldsAnAddressIsKeptWithoutDots(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := &handset{world: w, number: "+33639981199"}
	for _, entry := range []string{"hello", "1", "www.prizes.example, Win.example"} {
		if _, err := h.sms(entry); err != nil {
			t.Fatal(err)
		}
	}
	p, err := w.store.PersonByPhone(h.number)
	if err != nil || p.Name != "www prizes example" || p.Village != "Win example" {
		t.Errorf("kept as %q of %q, %v", p.Name, p.Village, err)
	}
}
