package advice_test

import (
	"errors"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
)

// The four prices that the paper printed, per quintal: [TN-2022].
func TestTamilNaduStepsOfPrice(t *testing.T) {
	bands := advice.TamilNadu2022()
	for _, c := range []struct {
		price, moisture, want string
		taken                 bool
	}{
		{"2040", "17", "2040", true},
		{"2040", "17.1", "2019.60", true},
		{"2040", "18", "2019.60", true},
		{"2040", "18.01", "1999.20", true},
		{"2040", "19", "1999.20", true},
		{"2060", "17.5", "2039.40", true},
		{"2060", "18.5", "2018.80", true},
		{"2060", "12", "2060", true},
		{"2060", "19.1", "0", false},
	} {
		got, taken := advice.Deduct(dec(t, c.price), dec(t, c.moisture), bands)
		if got != dec(t, c.want) || taken != c.taken {
			t.Errorf("%s at %s %%: %s, %v, want %s, %v", c.price, c.moisture, got, taken, c.want, c.taken)
		}
	}
	if got, taken := advice.Deduct(dec(t, "50"), dec(t, "30"), nil); got != dec(t, "50") || !taken {
		t.Errorf("without bands: %s, %v", got, taken)
	}
}

func TestFairPricePaysTheDryMatter(t *testing.T) {
	// 100 kg at 20 % hold as much dry matter as 93.023 kg at 14 %, [IRRI-MC].
	got, err := advice.FairPrice(dec(t, "50"), dec(t, "20"), dec(t, "14"))
	if err != nil || got.Round(3) != dec(t, "46.512") {
		t.Errorf("FairPrice = %s, %v, want 46.512", got, err)
	}
	if drier, err := advice.FairPrice(dec(t, "50"), dec(t, "12"), dec(t, "14")); err != nil || drier <= dec(t, "50") {
		t.Errorf("drier than the reference: %s, %v, want more than 50", drier, err)
	}
	if _, err := advice.FairPrice(dec(t, "50"), dec(t, "100"), dec(t, "14")); !errors.Is(err, advice.ErrMoisture) {
		t.Errorf("100 %%: %v", err)
	}
	if _, err := advice.FairPrice(dec(t, "-1"), dec(t, "14"), dec(t, "14")); !errors.Is(err, advice.ErrWeight) {
		t.Errorf("a negative price: %v", err)
	}
}

func TestWorthOfDrying(t *testing.T) {
	w, err := advice.WorthOf(dec(t, "1000"), dec(t, "18"), dec(t, "14"), dec(t, "17"), dec(t, "20.40"), advice.TamilNadu2022())
	if err != nil || !w.Taken {
		t.Fatalf("%+v, %v", w, err)
	}
	if w.AsIs != dec(t, "20196") { // 1000 kg at the 20.196 of [TN-2022]
		t.Errorf("as it is %s, want 20196", w.AsIs)
	}
	if w.Dried.Round(1) != dec(t, "19451.2") { // 1000 x 82/86 x 20.40
		t.Errorf("dried %s, want 19451.2", w.Dried)
	}
	if w.Fair.Round(1) != dec(t, "20154.2") { // 1000 x 82/83 x 20.40
		t.Errorf("fair %s, want 20154.2", w.Fair)
	}
	if w.OverDried.Round(1) != dec(t, "703.1") { // from 953.488 kg at 14 to 987.952 at 17
		t.Errorf("given away %s, want 703.1", w.OverDried)
	}
	if _, err := advice.WorthOf(dec(t, "1000"), dec(t, "12"), dec(t, "14"), dec(t, "14"), dec(t, "20"), nil); !errors.Is(err, advice.ErrWetter) {
		t.Errorf("wetting: %v", err)
	}
}

func TestFieldTestsNeverSayDryEnough(t *testing.T) {
	for sign, about := range map[advice.Bite]string{advice.Crushes: "20", advice.CracksDull: "18", advice.CracksClick: "15"} { // [RAB-RICE]
		if got := sign.Sign(); got.Verdict != advice.TooWet || got.About != dec(t, about) {
			t.Errorf("%s: %+v, want too wet at about %s", sign, got, about)
		}
	}
	if got := advice.CracksClick.Sign(); got.About <= 14*grading.One {
		t.Errorf("a click stands for %s, which must not pass for 14", got.About)
	}
	for _, sign := range []advice.Bite{advice.CracksBrittle, "", "rings like a bell"} {
		if got := sign.Sign(); got.Verdict != advice.NotProof || got.About != 0 {
			t.Errorf("%q: %+v, want no proof", sign, got)
		}
	}
	if got := advice.SaltTest(true); got.Verdict != advice.TooWet || got.About != dec(t, "15") || !got.AtLeast { // [AFAG-2007]
		t.Errorf("salt clings: %+v", got)
	}
	if got := advice.SaltTest(false); got.Verdict != advice.NotProof {
		t.Errorf("clean wall: %+v", got)
	}
	if advice.SaltTestSalt*20 != advice.SaltTestGrain { // 5 %
		t.Error("8 g of salt go to 160 g of grain")
	}
}

// Limits of [IRRI-SEED] at and over each.
func TestSeedClasses(t *testing.T) {
	good := advice.SeedSample{PurePercent: dec(t, "98"), InertPercent: dec(t, "2"), GerminatesPercent: dec(t, "80"), Moisture: dec(t, "14")}
	for _, c := range []struct {
		name  string
		class advice.SeedClass
		edit  func(*advice.SeedSample)
		want  []advice.SeedFault
	}{
		{"clean seed is breeder seed", advice.BreederSeed, func(*advice.SeedSample) {}, nil},
		{"two red in certified pass", advice.CertifiedSeed, func(s *advice.SeedSample) { s.RedRice = 2 }, nil},
		{"three red in certified fail", advice.CertifiedSeed, func(s *advice.SeedSample) { s.RedRice = 3 }, []advice.SeedFault{advice.RedInSeed}},
		{"one red in registered passes", advice.RegisteredSeed, func(s *advice.SeedSample) { s.RedRice = 1 }, nil},
		{"two red in registered fail", advice.RegisteredSeed, func(s *advice.SeedSample) { s.RedRice = 2 }, []advice.SeedFault{advice.RedInSeed}},
		{"one red in foundation fails", advice.FoundationSeed, func(s *advice.SeedSample) { s.RedRice = 1 }, []advice.SeedFault{advice.RedInSeed}},
		{"ten other grains in certified pass", advice.CertifiedSeed, func(s *advice.SeedSample) { s.OtherVarieties = 10 }, nil},
		{"eleven other grains in certified fail", advice.CertifiedSeed, func(s *advice.SeedSample) { s.OtherVarieties = 11 }, []advice.SeedFault{advice.OtherVarieties}},
		{"two others in foundation pass", advice.FoundationSeed, func(s *advice.SeedSample) { s.OtherVarieties = 2 }, nil},
		{"one other in breeder fails", advice.BreederSeed, func(s *advice.SeedSample) { s.OtherVarieties = 1 }, []advice.SeedFault{advice.OtherVarieties}},
		{"97 pure passes certified only", advice.CertifiedSeed, func(s *advice.SeedSample) { s.PurePercent = dec(t, "97") }, nil},
		{"97 pure fails registered", advice.RegisteredSeed, func(s *advice.SeedSample) { s.PurePercent = dec(t, "97") }, []advice.SeedFault{advice.NotPure}},
		{"79 germinates too little", advice.CertifiedSeed, func(s *advice.SeedSample) { s.GerminatesPercent = dec(t, "79.9") }, []advice.SeedFault{advice.Germination}},
		{"14.1 is too moist", advice.CertifiedSeed, func(s *advice.SeedSample) { s.Moisture = dec(t, "14.1") }, []advice.SeedFault{advice.TooMoist}},
		{"weeds at 0.1 pass certified", advice.CertifiedSeed, func(s *advice.SeedSample) { s.WeedsPercent = dec(t, "0.1") }, nil},
		{"weeds at 0.1 fail registered", advice.RegisteredSeed, func(s *advice.SeedSample) { s.WeedsPercent = dec(t, "0.1") }, []advice.SeedFault{advice.WeedSeed}},
		{"inert over 3 fails certified", advice.CertifiedSeed, func(s *advice.SeedSample) { s.InertPercent = dec(t, "3.1") }, []advice.SeedFault{advice.InertMatter}},
		{"an unknown class passes nothing", "own seed", func(*advice.SeedSample) {}, []advice.SeedFault{advice.NotPure}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good
			c.edit(&s)
			if got := c.class.Faults(s); !slices.Equal(got, c.want) {
				t.Errorf("faults %v, want %v", got, c.want)
			}
		})
	}
}

// The OR-rule of [CFR-868 §868.212].
func TestInfested(t *testing.T) {
	for _, c := range []struct {
		weevils, others int
		want            bool
	}{{2, 0, true}, {1, 1, true}, {0, 5, true}, {1, 0, false}, {0, 4, false}, {0, 0, false}, {3, 9, true}} {
		if got := advice.Infested(c.weevils, c.others); got != c.want {
			t.Errorf("%d weevils and %d others: %v, want %v", c.weevils, c.others, got, c.want)
		}
	}
}
