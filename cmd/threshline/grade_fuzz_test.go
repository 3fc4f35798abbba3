package main

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
		`{"flags":["musty"],"class":"round","words":{"colour":"grey"}}`, "[]", "", `{"moisture":13.55555}`, `{"organic_g":5,"sample_g":4}`, `{"kg":null}`,
	} {
		f.Add([]byte(seed))
	}
	cmd := gradeCmd{JSON: true, Remedy: true, Standard: defaultStandard}
	g, err := cmd.grader()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		var out bytes.Buffer
		n, err := g.gradeAll(bytes.NewReader(in), &out)
		if err != nil {
			t.Fatal(err)
		}
		lines := bytes.Split(bytes.TrimSuffix(out.Bytes(), []byte("\n")), []byte("\n"))
		if len(lines) != n.lots || n.lots == 0 {
			t.Fatalf("%d lots, %d lines", n.lots, len(lines))
		}
		for _, line := range lines {
			if !json.Valid(line) {
				t.Fatalf("no JSON: %s", line)
			}
		}
	})
}
