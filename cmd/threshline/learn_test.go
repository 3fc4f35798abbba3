package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/demo"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
)

// TestAStationLearnsWhatLotsHold: what it learns are the means of the store's own
// first checks, reckoned here once more; a check filed from then on has other
// chances and the same grade, one filed before keeps its own.
func TestAStationLearnsWhatLotsHold(t *testing.T) {
	cfg := valley(t)
	path := filepath.Join(t.TempDir(), "store.db")
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := demo.File(t.Context(), s.store, s.programme, seasonsEnd); err != nil {
		t.Fatal(err)
	}
	if len(s.programme.Advice.Usual) != 0 {
		t.Fatalf("an empty store taught %v", s.programme.Advice.Usual)
	}
	moisture, red := firstMeans(t, s)
	before := fileBySMS(t, s, "1")
	next, err := s.relearnt(t.Context())
	if err != nil || next == nil {
		t.Fatalf("nothing learnt from %d checks: %v", demo.Checks, err)
	}
	learnt := next.programme.Advice.Usual
	if got := learnt[grading.Moisture].Mean; math.Abs(got-moisture) > 0.01 {
		t.Errorf("moisture is usually %.3f, want %.3f", got, moisture)
	}
	if got := learnt[grading.Red].Mean; math.Abs(got-red) > 0.02 {
		t.Errorf("%.3f %% are usually red, want %.3f", got, red)
	}
	if len(s.programme.Advice.Usual) != 0 {
		t.Error("the programme that was in use was changed")
	}
	if again, err := next.relearnt(t.Context()); again != nil || err != nil {
		t.Errorf("learnt the same once more: %v", err)
	}
	after := fileBySMS(t, next, "2")
	if before.Slip == after.Slip || before.Grade != after.Grade || math.Abs(before.Confidence-after.Confidence) < 0.01 {
		t.Errorf("before %s sure by %.3f, after %s by %.3f", before.Grade, before.Confidence, after.Grade, after.Confidence)
	}
	if kept := checkOf(t, next, before.Slip); kept.Confidence != before.Confidence {
		t.Errorf("the earlier check is sure by %.3f now, was by %.3f", kept.Confidence, before.Confidence)
	}
	if err := next.close(); err != nil {
		t.Fatal(err)
	}
	reopened, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer reopened.close()
	if len(reopened.programme.Advice.Usual) != len(learnt) {
		t.Errorf("a start learns %v", reopened.programme.Advice.Usual)
	}
}

// firstMeans are the mean moisture and the mean share of red grains over the
// first checks, %.
func firstMeans(t *testing.T, s *station) (moisture, red float64) {
	t.Helper()
	checks, err := s.store.Filed(t.Context(), 0, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	n := 0.0
	for _, c := range checks {
		if c.Recheck != "" {
			continue
		}
		n++
		m, _ := c.Readings.Get(grading.Moisture) // corrected
		moisture += m.Float()
		bad, _ := c.Readings.Get(grading.Red)
		all, _ := c.Readings.Get(grading.Counted)
		red += 100 * bad.Float() / all.Float()
	}
	return moisture / n, red / n
}

// fileBySMS files one lot of an agent of the season, always the same.
func fileBySMS(t *testing.T, s *station, message string) session.Check {
	t.Helper()
	form := url.Values{"msisdn": {string(demo.People(time.Time{})[0].Phone)}, "mid": {message}, "input": {"G1 M 13.1 13.0 13.2 S 20 O 0.1 I 0.02 B 15.3 T 0.2 P 0 Y 1 R 1 bag 2" + message}}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	s.gateway.ServeHTTP(w, r)
	said, err := io.ReadAll(w.Body)
	if err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d %s %v", w.Code, said, err)
	}
	checks, err := s.store.Newest(t.Context(), 1)
	if err != nil || len(checks) != 1 || checks[0].Channel != "valley-sms" {
		t.Fatalf("no check was filed: %s (%v)", said, err)
	}
	return checks[0]
}

func checkOf(t *testing.T, s *station, slip session.Slip) (c session.Check) {
	t.Helper()
	err := s.store.Read(t.Context(), func(v session.View) (err error) {
		c, err = v.Check(slip)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestGradeLeansOnEarlierLots: 3 red of 100 are over the 2 % of the best grade; in
// a season whose lots hold 0 or 1 of 100 the lot is likelier to be better than
// its sample says.
func TestGradeLeansOnEarlierLots(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, lines int) string {
		t.Helper()
		var b strings.Builder
		for i := range lines {
			fmt.Fprintf(&b, `{"moisture":[13],"sample_g":200,"chaff_g":1,"stones_g":0.2,"brown_g":150,"immature_g":1,"counted":100,"pest_damaged":0,"discoloured":0,"red":%d}`+"\n", i%2)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	lot := filepath.Join(dir, "lot.json")
	if err := os.WriteFile(lot, []byte(`{"moisture":[13],"sample_g":200,"chaff_g":1,"stones_g":0.2,"brown_g":150,"immature_g":1,"counted":100,"pest_damaged":0,"discoloured":0,"red":3}`), 0o600); err != nil {
		t.Fatal(err)
	}
	table, err := standardtest.Path()
	if err != nil {
		t.Fatal(err)
	}
	confidence := func(more ...string) (grade string, sure float64) {
		t.Helper()
		code, out, problem := commandLine(t, append([]string{"grade", "--standard", table, "--json", lot}, more...)...)
		var got struct {
			Grade      string
			Confidence float64
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil || code != 0 {
			t.Fatalf("%d %s %s %v", code, out, problem, err)
		}
		return got.Grade, got.Confidence
	}
	grade, sure := confidence()
	leaning, less := confidence("--usual", write("season.jsonl", programme.LearnFrom))
	if grade != leaning || !(less < sure-0.05) {
		t.Errorf("%s sure by %.3f, leaning on the season %s by %.3f", grade, sure, leaning, less)
	}
	code, _, problem := commandLine(t, "grade", "--usual", write("few.jsonl", programme.LearnFrom-1), lot)
	if code != 1 || !strings.Contains(problem, "299 lots, too few") || !strings.Contains(problem, "hint: ") {
		t.Errorf("%d %s", code, problem)
	}
	mixed := write("mixed.jsonl", programme.LearnFrom)
	lines, err := os.ReadFile(mixed)
	if err != nil {
		t.Fatal(err)
	}
	lines = append(bytes.ReplaceAll(lines, []byte("{"), []byte(`{"procedure":2,`)), []byte(`{"procedure":1,"moisture":[13]}`)...)
	if err := os.WriteFile(mixed, lines, 0o600); err != nil {
		t.Fatal(err)
	}
	code, _, problem = commandLine(t, "grade", "--usual", mixed, lot)
	if code != 1 || !strings.Contains(problem, "lot 301: its procedure is 1, that of the lots before it 2") || !strings.Contains(problem, "does not mix") {
		t.Errorf("two editions of the procedure: %d %s", code, problem)
	}
}
