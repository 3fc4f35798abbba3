package report

import (
	"bytes"
	"encoding/json"
	"testing"
)

// FuzzGradeLines: whatever comes in, each lot is answered by one line of good
// JSON, the count agrees, and nothing panics.
func FuzzGradeLines(f *testing.F) {
	for _, seed := range []string{
		aLot, aLot + "\n" + aLot, `{"moisture":[13.8,"x"]}`, `{"sample_g":0}`, `{"values":{"moisture":14}}{"counted":1e3}`,
		`{"flags":["musty"],"class":"round","words":{"colour":"grey"}}`, "[]", "", `{"moisture":13.55555}`, `{"chaff_g":5,"sample_g":4}`, `{"kg":null}`,
	} {
		f.Add([]byte(seed))
	}
	g := ready(f, Grader{Form: JSON, Advise: true})
	f.Fuzz(func(t *testing.T, in []byte) {
		var out bytes.Buffer
		n, err := g.All(bytes.NewReader(in), &out)
		if err != nil {
			t.Fatal(err)
		}
		lines := bytes.Split(bytes.TrimSuffix(out.Bytes(), []byte("\n")), []byte("\n"))
		if len(lines) != n.Lots || n.Lots == 0 {
			t.Fatalf("%d lots, %d lines", n.Lots, len(lines))
		}
		for _, line := range lines {
			if !json.Valid(line) {
				t.Fatalf("no JSON: %s", line)
			}
		}
	})
}
