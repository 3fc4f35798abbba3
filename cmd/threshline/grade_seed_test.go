package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestGradeJudgesSeed: two red grains in 500 g and ten of other varieties pass as
// certified seed, three and eleven do not [IRRI-SEED].
func TestGradeJudgesSeed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lot.json")
	grade := func(object string, args ...string) (code int, out, problem string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(object), 0o600); err != nil {
			t.Fatal(err)
		}
		return commandLine(t, append([]string{"grade", path}, args...)...)
	}
	lot := func(pure string, other, red int, germinates string) string {
		return fmt.Sprintf(`{"moisture":[13],"seed":{"pure":%s,"inert":1.5,"weeds":0,"germinates":%s,"other_varieties":%d,"red":%d}}`, pure, germinates, other, red)
	}
	for _, c := range []struct {
		name, object string
		args         []string
		code         int
		want         string
	}{
		{"two red pass", lot("98", 10, 2, "80"), nil, 0, "seed: passes as certified [IRRI-SEED]"},
		{"three red do not", lot("98", 10, 3, "80"), nil, 0, "seed: not certified: red rice 3 grains in 500 g, at most 2 ["},
		{"eleven others do not", lot("98", 11, 2, "80"), []string{"--seed", "certified"}, 0, "seed: not certified: other varieties 11 grains in 500 g, at most 10 ["},
		{"the purest class that it passes", lot("98", 2, 0, "80"), nil, 0, "seed: passes as foundation"},
		{"a class asked for", lot("97", 5, 0, "79.9"), []string{"--seed", "registered", "--json"}, 0, `"seed":{"class":"registered","faults":["pure","germination"]}`},
		{"figures that lack one", `{"moisture":[13],"seed":{"pure":98}}`, nil, 1, `"field":"seed"`},
		{"no meter", strings.Replace(lot("98", 0, 0, "90"), `"moisture":[13],`, "", 1), nil, 1, `"field":"moisture"`},
		{"half a grain", strings.Replace(lot("98", 0, 0, "90"), `"red":0`, `"red":0.5`, 1), nil, 1, `"field":"seed.red"`},
		{"no figures where a class is asked for", `{"moisture":[13]}`, []string{"--seed", "breeder"}, 1, `"field":"seed"`},
		{"seed of one of several samples", lot("98", 0, 0, "90"), []string{"--one-lot"}, 1, `"field":"seed"`},
	} {
		if code, out, problem := grade(c.object, c.args...); code != c.code || !strings.Contains(out, c.want) {
			t.Errorf("%s: %d %s%s, want %d with %s", c.name, code, out, problem, c.code, c.want)
		}
	}
	if code, _, problem := grade(lot("98", 0, 0, "90"), "--seed", "best"); code != 1 || !strings.Contains(problem, "breeder, foundation, registered, certified") {
		t.Errorf("an unknown class: %d %s", code, problem)
	}
}
