// Package demo invents the demonstration's season: the Mbuyu Valley rice scheme,
// its people, lots and prices.
//
// Every name and number is invented.
package demo

import (
	_ "embed"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"threshline/grading"
	"threshline/session"
)

// Config is the demonstration's configuration.
//
//go:embed demo.toml
var Config []byte

// Checks is how many checks the invented season holds.
const Checks = 480

// district is one district and what its lots tend to suffer from.
type district struct {
	name     string
	villages [3]string
	wet      float64 // mean moisture, % wet basis
	chaff    float64 // mean chaff share, % of the sample
	stones   float64 // mean stones share, %
	red      float64 // mean red grains, % by count
	green    float64 // mean immature share, % of the husked weight
	bored    float64 // mean pest-damaged grains, % by count
}

var districts = [4]district{
	{"Upper Mbuyu", [3]string{"Mlimani", "Chemchem", "Juu"}, 14.6, 0.9, 0.20, 1.5, 2.0, 0.6},
	{"Lower Mbuyu", [3]string{"Bondeni", "Mtoni", "Shamba Kuu"}, 13.4, 2.2, 0.25, 2.0, 2.6, 0.8},
	{"Kisima", [3]string{"Kisimani", "Mawe Mawili", "Uwanja"}, 13.2, 1.1, 0.90, 2.2, 2.2, 0.7},
	{"Korongo", [3]string{"Korongoni", "Ng'ambo", "Kivuko"}, 13.5, 1.0, 0.30, 6.5, 3.4, 1.4},
}

// agents are the six agents: name, district index, number.
var agents = [6]struct {
	name     string
	district int
	phone    session.Phone
}{
	{"Asha Mbeyu", 0, "+33639980001"}, {"Juma Kitalu", 1, "+33639980002"},
	{"Neema Pepeo", 1, "+33639980003"}, {"Baraka Mwamba", 2, "+33639980004"},
	{"Zuhura Korongo", 3, "+33639980005"}, {"Salim Punje", 3, "+33639980006"},
}

var names = [12]string{
	"Amina", "Bakari", "Chausiku", "Daudi", "Eshe", "Faraji", "Halima", "Issa", "Jamila", "Khamisi", "Latifa", "Musa",
}

var varieties = [4]string{"Mbuyu 1", "Mbuyu 2", "Kijani", "Zamani"}

// growersEach is how many growers each invented agent looks after.
const growersEach = 12

// People makes the agents, their growers and a coordinator of all districts;
// half the growers have no phone.
func People(at time.Time) (people []session.Person) {
	agreed := session.Consent{Version: 1, Given: true, At: at}
	for a, agent := range agents {
		district := districts[agent.district]
		id := session.PersonID(fmt.Sprintf("agent-%d", a+1))
		people = append(people, session.Person{
			ID: id, Phone: agent.phone, Role: session.Agent, Name: agent.name, District: district.name,
			Village: district.villages[0], Language: "en", Consent: agreed, Joined: at,
			Kit: session.Kit{Meter: fmt.Sprintf("M%d", a+1)},
		})
		for g := range growersEach {
			grower := session.Person{
				ID:   session.PersonID(fmt.Sprintf("grower-%d-%02d", a+1, g+1)),
				Role: session.Grower, Name: fmt.Sprintf("%s %c.", names[g], 'A'+rune(a)),
				District: district.name, Village: district.villages[g%3], Language: "sw",
				Agent: id, Short: g + 1, Consent: agreed, Joined: at,
			}
			if g%2 == 0 {
				grower.Phone = session.Phone(fmt.Sprintf("+3363998%02d%02d", 10+a, g))
			}
			people = append(people, grower)
		}
	}
	return append(people, session.Person{
		ID: "coordinator-1", Phone: "+33639980009", Role: session.Coordinator, Name: "Wema Bonde", Language: "en", Consent: agreed, Joined: at,
	})
}

// lotMaker invents lots, the same ones on every run.
type lotMaker struct{ random *rand.Rand }

func newLotMaker() lotMaker { return lotMaker{rand.New(rand.NewPCG(2026, 11))} }

// skewed draws a positive number with the given mean: many small, few large.
func (m lotMaker) skewed(mean float64) float64 {
	return mean * math.Exp(m.random.NormFloat64()*0.6-0.18)
}

// grains counts how many of n grains show a fault of the given percentage.
func (m lotMaker) grains(n int, percent float64) (hit int) {
	for range n {
		if m.random.Float64()*100 < percent {
			hit++
		}
	}
	return hit
}

// tenths and hundredths round as a meter and a scale do.
func tenths(x float64) grading.Decimal     { return grading.Decimal(math.Round(x*10)) * 1000 }
func hundredths(x float64) grading.Decimal { return grading.Decimal(math.Round(x*100)) * 100 }

// readings invents what an agent would measure on a lot of the district.
func (m lotMaker) readings(d district) grading.Readings {
	var r grading.Readings
	moisture := d.wet + m.random.NormFloat64()*1.1
	for range 3 {
		r.Repeats = append(r.Repeats, tenths(moisture+m.random.NormFloat64()*0.12))
	}
	const sample = 20.0
	chaff, stones := sample*m.skewed(d.chaff)/100, sample*m.skewed(d.stones)/100
	clean := sample - chaff - stones
	brown := clean * (0.785 + m.random.NormFloat64()*0.008)
	r.Set(grading.SampleWeight, hundredths(sample))
	r.Set(grading.Chaff, hundredths(chaff))
	r.Set(grading.Stones, hundredths(stones))
	r.Set(grading.CleanWeight, hundredths(clean))
	r.Set(grading.BrownWeight, hundredths(brown))
	r.Set(grading.ImmatureWeight, hundredths(brown*m.skewed(d.green)/100))
	r.Set(grading.Counted, grading.NewDecimal(100))
	r.Set(grading.PestDamaged, grading.NewDecimal(m.grains(100, m.skewed(d.bored))))
	r.Set(grading.Discoloured, grading.NewDecimal(m.grains(100, m.skewed(1.2))))
	r.Set(grading.Red, grading.NewDecimal(m.grains(100, m.skewed(d.red))))
	r.Set(grading.OtherVariety, grading.NewDecimal(m.grains(100, 0.8)))
	return r
}
