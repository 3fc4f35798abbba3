package advice_test

import (
	"path/filepath"
	"testing"

	"github.com/cockroachdb/datadriven"

	"threshline/advice"
)

// The files hold facts in, remedies and their reasons out. Their facts are
// invented; what they are judged by stands in the standards they name.
func TestAdviceFiles(t *testing.T) {
	files, err := filepath.Glob("../testdata/advice/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatal("no file under testdata/advice")
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			datadriven.RunTest(t, file, func(t *testing.T, d *datadriven.TestData) string {
				switch d.Cmd {
				case "engineer":
					return engineer(t, d)
				case "ways":
					return compared(facts(t, d))
				case "advise":
				default:
					d.Fatalf(t, "unknown command %q", d.Cmd)
				}
				c := facts(t, d)
				a := advice.Advise(c)
				return told(&c, &a)
			})
		})
	}
}
