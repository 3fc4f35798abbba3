package desk_test

import (
	"net/http"
	"strings"
	"testing"
)

// A filter stays while somebody moves from page to page; a day that cannot be
// read keeps form and navigation, and says what a right one looks like.
func TestAFilterStaysAndAWrongDayKeepsTheForm(t *testing.T) {
	h := newHouse(t)
	h.season(6)
	admin := h.administrator()
	body := admin.get("/desk/grades?district=Kisima").Body
	for _, link := range []string{"/desk/?district=Kisima", "/desk/lots?district=Kisima", "/desk/what-if?district=Kisima", "/desk/export?district=Kisima"} {
		if !strings.Contains(body, `href="`+link+`"`) {
			t.Errorf("the navigation does not lead to %s", link)
		}
	}
	if strings.Contains(body, "/desk/audit?") || strings.Contains(admin.get("/desk/audit?district=Kisima").Body, "/desk/lots?") {
		t.Error("a page without a filter takes or gives one")
	}
	for _, path := range []string{"/desk/", "/desk/grades", "/desk/lots", "/desk/findings"} {
		a := admin.get(path + "?from=31.12.2026&district=Kisima")
		if a.Status != http.StatusBadRequest {
			t.Errorf("%s: status %d", path, a.Status)
		}
		for _, want := range []string{"year-month-day", `name="from" value="31.12.2026"`, "<option value=\"Kisima\" selected>Kisima</option>", `aria-label="Pages"`} {
			if !strings.Contains(a.Body, want) {
				t.Errorf("%s: the page does not hold %q", path, want)
			}
		}
	}
}
