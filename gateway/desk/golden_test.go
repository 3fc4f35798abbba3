package desk_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
)

var update = flag.Bool("update", false, "write testdata/web anew; read the difference")

const goldenDir = "../../testdata/web"

// golden compares a page with the one that was read and found right.
func golden(t *testing.T, name, body string) {
	t.Helper()
	// The style sheet's address changes with what is in it.
	body = strings.ReplaceAll(body, style(t, body), "/desk/asset/STYLE")
	path := filepath.Join(goldenDir, name+".html")
	if *update {
		if err := os.MkdirAll(goldenDir, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(body), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(body, "\n")); diff != "" {
		t.Errorf("%s changed; if that is right, run the test with -update and read the difference:\n%s", path, diff)
	}
}

func TestPagesAreAsTheyWereRead(t *testing.T) {
	h := newHouse(t)
	golden(t, "signin-first", h.caller().get("/desk/sign-in").Body)
	admin := h.administrator()
	golden(t, "season-empty", admin.get("/desk/").Body)
	h.people()
	one := h.check(0, "Kisima", reading(152, 45, 4))
	h.put(session.Writes{Checks: []session.Check{one}})
	golden(t, "season-one", admin.get("/desk/").Body)
	golden(t, "lot", admin.get("/desk/lots/"+string(one.Slip)).Body)
	golden(t, "whatif-one", admin.get("/desk/what-if").Body)
	golden(t, "settings", admin.get("/desk/settings").Body)
	golden(t, "people", admin.get("/desk/people").Body)
	golden(t, "handset", admin.get("/desk/handset").Body)
	golden(t, "refused", admin.get("/desk/lots/NOSUCH2").Body)
	viewer := h.member(admin, "looks.on", session.DeskViewer)
	golden(t, "lot-viewer", viewer.get("/desk/lots/"+string(one.Slip)).Body)
	clears, _ := clearing(t)
	bad := clears.flagged(0, grading.TreatedSeed, grading.Mouldy)
	clears.put(session.Writes{Checks: []session.Check{bad}})
	golden(t, "lot-not-accepted", clears.administrator().get("/desk/lots/"+string(bad.Slip)).Body)
	byHand := newHouse(t)
	hand := byHand.pairs()[0]
	reads := byHand.administrator()
	golden(t, "lot-by-hand", reads.get("/desk/lots/"+string(hand.Slip)).Body)
	golden(t, "hands", reads.get("/desk/hands").Body)
	golden(t, "messages-viewer", viewer.get("/desk/messages").Body)
}

func TestEveryGoldenPageIsCompared(t *testing.T) {
	have, err := filepath.Glob(filepath.Join(goldenDir, "*.html"))
	if err != nil || len(have) == 0 {
		t.Fatalf("%d golden pages, %v", len(have), err)
	}
	source, err := os.ReadFile("golden_test.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range have {
		if name := strings.TrimSuffix(filepath.Base(path), ".html"); !strings.Contains(string(source), `golden(t, "`+name+`"`) {
			t.Errorf("%s is compared with nothing", path)
		}
	}
}
