package desk

import (
	"strings"
	"testing"
)

func TestAListTooLongToPrintSaysWhatToDo(t *testing.T) {
	r := restOf(&chosen{}, "/desk/lots", "check", perPage, 1_000_000)
	if r.All != "" || !strings.Contains(r.Said, "or export them") {
		t.Errorf("%+v", r)
	}
}
