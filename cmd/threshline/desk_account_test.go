package main

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/pquerna/otp/totp"

	"threshline/cmd/threshline/demo"
)

// TestAnAdministratorSetsUpASecondFactorInABrowser goes from the one-time link to
// the season as somebody new does, and looks at the pages on the way.
func TestAnAdministratorSetsUpASecondFactorInABrowser(t *testing.T) {
	t.Parallel()
	o := newOffice(t)
	if _, err := demo.File(t.Context(), o.store, o.programme, seasonsEnd); err != nil {
		t.Fatal(err)
	}
	b := openBrowser(t, o.base)
	b.open("/desk/sign-in")
	b.picture("sign-in-first")
	b.signUp(o.station)
	if at := b.where(); at != o.base+"/desk/account" {
		t.Fatalf("after the link at %s", at)
	}
	b.picture("account-new")
	drawn := get(b, chromedp.Evaluate[float64](`document.querySelector("svg.code path").getBBox().width`))
	if drawn < 21 {
		t.Errorf("the drawing is %v wide", drawn)
	}
	typed := strings.ReplaceAll(get(b, chromedp.Text(chromedp.CSS("form[action$=factor] code"))), " ", "")
	code, err := totp.GenerateCode(typed, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b.fill("#new-code", code)
	if status := b.press("form[action$=factor] button"); status != 200 {
		t.Fatalf("set up: status %d: %s", status, get(b, chromedp.Text(chromedp.CSS("main"))))
	}
	b.picture("account-codes")
	if n := get(b, chromedp.Evaluate[int](`document.querySelectorAll("ol code").length`)); n != 10 {
		t.Errorf("%d recovery codes are shown", n)
	}
	if status := b.open("/desk/account"); status != 200 {
		t.Errorf("the account: status %d", status)
	}
	b.picture("account")
	if status := b.open("/desk/people"); status != 200 {
		t.Errorf("people: status %d", status)
	}
	b.picture("people")
	b.quiet()
}
