package carrier_test

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/nyaruka/phonenumbers"

	"threshline/gateway/carrier"
	"threshline/session"
)

// numberChannel reads the sender from a header and takes any text.
func numberChannel(t testing.TB, numbers, region string) *carrier.Channel {
	return newChannel(t, `
name = "line"
kind = "sms"
region = "`+region+`"
read = { from = "header:X-Line", text = "const:x", numbers = "`+numbers+`" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
}

func get(target string, header ...string) *carrier.Request {
	u, err := url.Parse(target)
	if err != nil {
		panic(err)
	}
	r := &carrier.Request{Method: http.MethodGet, URL: u, Header: http.Header{}}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Add(header[i], header[i+1])
	}
	return r
}

func post(contentType, body string) *carrier.Request {
	r := get("/in/line", "Content-Type", contentType)
	r.Method, r.Body = http.MethodPost, []byte(body)
	return r
}

func TestNumbersBecomeComparable(t *testing.T) {
	for _, c := range []struct{ name, numbers, region, raw, want string }{
		{"with a plus", "auto", "FR", "+33639980001", "+33639980001"},
		{"with spaces, brackets and dashes", "auto", "FR", "+33 (6) 39-98.00 01", "+33639980001"},
		{"with 00", "auto", "FR", "0033639980001", "+33639980001"},
		{"with 00, in a region that dials another prefix", "auto", "US", "0033639980001", "+33639980001"},
		{"without a plus, of the region", "auto", "FR", "33639980001", "+33639980001"},
		{"without a plus, of another country", "auto", "FR", "447700900001", "+447700900001"},
		{"local", "auto", "FR", "0639980001", "+33639980001"},
		{"local, elsewhere", "local", "GB", "07700900001", "+447700900001"},
		{"local, where the country code comes without a plus", "local", "GB", "447700900001", "+447700900001"},
		{"international without a plus", "international", "FR", "447700900001", "+447700900001"},
		{"as a telephone address", "auto", "FR", "tel:+33639980001", "+33639980001"},
		{"seven digits that can be dialled in one town only", "auto", "US", "2530000", "2530000"},
		{"a short code", "auto", "FR", "32811", "32811"},
		{"a short code where all are international", "international", "FR", "32811", "32811"},
		{"a word", "auto", "FR", "PRIZES", "PRIZES"},
		{"a word with a number in it", "auto", "FR", "Win4U", "Win4U"},
	} {
		messages, err := numberChannel(t, c.numbers, c.region).Read(get("/in/line", "X-Line", c.raw))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := string(messages[0].From); got != c.want {
			t.Errorf("%s: %q became %q, want %q", c.name, c.raw, got, c.want)
		}
	}
}

func TestWhatIsNoSenderIsRefused(t *testing.T) {
	for name, raw := range map[string]string{
		"more than 15 digits":      "+3363998000112345",
		"a country code of 0":      "+0639980001",
		"a word that poses as one": "+WINNER",
		"too long":                 strings.Repeat("1", 33),
		"a control character":      "a\x01b",
	} {
		_, err := numberChannel(t, "auto", "FR").Read(get("/in/line", "X-Line", raw))
		if !errors.Is(err, carrier.ErrNumber) {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

func TestOnlyNumbersOfTheRightRangeAreSentTo(t *testing.T) {
	open := numberChannel(t, "auto", "FR")
	ranged := newChannel(t, `
name = "line"
kind = "sms"
allow_prefixes = ["+3363998", "+447700900"]
read = { from = "header:X-Line", text = "const:x" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
	example := func(region string, kind phonenumbers.PhoneNumberType) session.Phone {
		return session.Phone(phonenumbers.Format(phonenumbers.GetExampleNumberForType(region, kind), phonenumbers.E164))
	}
	for _, c := range []struct {
		phone        session.Phone
		open, ranged bool
	}{
		{example("FR", phonenumbers.MOBILE), true, false},
		{example("FR", phonenumbers.FIXED_LINE), false, false},
		{example("FR", phonenumbers.PREMIUM_RATE), false, false},
		{example("GB", phonenumbers.MOBILE), false, false}, // of another country
		{"+33639980001", false, true},                      // kept for fiction: in no table, but in the programme's ranges
		{"+447700900001", false, true},
		{"+881612345678", false, false}, // a satellite's
		{"32811", false, false},
		{"PRIZES", false, false},
		{"+WINNERSWIN", false, false},
		{"", false, false},
	} {
		if got := open.CanAnswer(c.phone); got != c.open {
			t.Errorf("%q by the region: %v", string(c.phone), got)
		}
		if got := ranged.CanAnswer(c.phone); got != c.ranged {
			t.Errorf("%q by the prefixes: %v", string(c.phone), got)
		}
	}
}

// A number that costs its caller much is sent to only where a prefix names its
// range: neither no prefix at all nor that of its country does.
func TestDearNumbersAreSentToOnlyWhereTheyAreNamed(t *testing.T) {
	to := func(prefixes ...string) *carrier.Channel {
		t.Helper()
		c, err := carrier.New(carrier.Config{
			Name: "line", Kind: session.SMS, AllowPrefixes: prefixes, Read: carrier.ReadConfig{From: "header:X-Line", Text: "const:x"},
			Reply: carrier.ReplyConfig{Body: "{{.Text}}"}, Guard: carrier.GuardConfig{Open: true},
		}, carrier.Setup{})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	of := func(region string, kind phonenumbers.PhoneNumberType) session.Phone {
		return session.Phone(phonenumbers.Format(phonenumbers.GetExampleNumberForType(region, kind), phonenumbers.E164))
	}
	world := func(code int) session.Phone {
		return session.Phone(phonenumbers.Format(phonenumbers.GetExampleNumberForNonGeoEntity(code), phonenumbers.E164))
	}
	anywhere, country, all := to(), to("+33", "+44", "+8"), to("+870", "+881", "+882", "+883", "+979", "+338", "+4470", "+449")
	if mobile := of("FR", phonenumbers.MOBILE); !anywhere.CanAnswer(mobile) || !country.CanAnswer(mobile) {
		t.Errorf("%q is not sent to", string(mobile))
	}
	for _, dear := range []session.Phone{
		world(870), world(881), world(882), world(883), world(979),
		of("FR", phonenumbers.PREMIUM_RATE), of("GB", phonenumbers.PREMIUM_RATE), of("GB", phonenumbers.PERSONAL_NUMBER),
	} {
		if anywhere.CanAnswer(dear) || country.CanAnswer(dear) {
			t.Errorf("%q is sent to", string(dear))
		}
		if !all.CanAnswer(dear) {
			t.Errorf("%q is named, and not sent to", string(dear))
		}
	}
}

const wholeChannel = `
name = "whole"
kind = "ussd"
read = { from = "form:f", text = "form:t", session = "form:s", dialogue = "whole", separator = "*" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`

func TestTheNewestInputIsToldFromTheWholeDialogue(t *testing.T) {
	c := newChannel(t, wholeChannel)
	for _, step := range []struct {
		name, heard, whole, want string
		agrees                   bool
	}{
		{"the first input", "", "1", "1", true},
		{"the second", "1", "1*2", "2", true},
		{"an input that holds the separator", "1", "1*13*2", "13*2", true},
		{"after an input that holds the separator", "1*13*2", "1*13*2*4", "4", true},
		{"the same again", "1*2", "1*2", "", true},
		{"an empty input", "1*2", "1*2*", "", true},
		{"a history that does not fit: the last part", "1*2", "3*4", "4", false},
		{"a first input that holds the separator", "", "4*2", "4*2", true},
	} {
		messages, err := c.Read(post("application/x-www-form-urlencoded", url.Values{"f": {"+33639980001"}, "s": {"1"}, "t": {step.whole}}.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		text, agrees := c.Latest(step.heard, messages[0])
		if text != step.want || agrees != step.agrees {
			t.Errorf("%s: %q after %q is %q, %v, want %q, %v", step.name, step.whole, step.heard, text, agrees, step.want, step.agrees)
		}
	}
}

func TestAWholeDialogueTellsARedelivery(t *testing.T) {
	c := newChannel(t, wholeChannel)
	id := func(s, text string) string {
		messages, err := c.Read(post("application/x-www-form-urlencoded", "f=%2B33639980001&s="+s+"&t="+text))
		if err != nil {
			t.Fatal(err)
		}
		return messages[0].MessageID
	}
	first := id("1", "1*2")
	if again := id("1", "1*2"); again != first || first == "" {
		t.Errorf("the same message has ids %q and %q", first, again)
	}
	if id("1", "1*2*2") == first || id("2", "1*2") == first {
		t.Error("two messages have the same id")
	}
}

func TestManyFaultsOfABatchAreNotAllListed(t *testing.T) {
	c := newChannel(t, `
name = "line"
kind = "sms"
read = { each = "json:/all", from = "json:/from", text = "json:/text" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
	r := post("application/json", `{"all":[{"from":"33639980001","text":"x"}`+strings.Repeat(`,{}`, 5000)+`]}`)
	messages, err := c.Read(r)
	if len(messages) != 1 || !errors.Is(err, carrier.ErrMissing) || len(err.Error()) > 1000 || !strings.Contains(err.Error(), "and 4995 more") {
		t.Errorf("%d messages, and an error of %d bytes", len(messages), len(err.Error()))
	}
}

func TestFaultsSayWhichFieldAndWhere(t *testing.T) {
	c := newChannel(t, `
name = "line"
kind = "sms"
[read]
from = "form:line"
text = "form:words"
max_body = 200
[reply]
body = "{{.Text}}"
[guard]
open = true
`)
	const form = "application/x-www-form-urlencoded"
	for _, r := range []struct {
		name    string
		request *carrier.Request
		want    error
		field   string
	}{
		{"a missing field", post(form, "line=%2B33639980001"), carrier.ErrMissing, "text"},
		{"a field twice", post(form, "line=%2B33639980001&words=a&words=b"), carrier.ErrTwice, "text"},
		{"an empty sender", post(form, "line=&words=a"), carrier.ErrMissing, "from"},
		{"a broken escape", post(form, "line=%zz&words=a"), carrier.ErrMalformed, ""},
		{"a broken multipart form", post("multipart/form-data", "x"), carrier.ErrMalformed, ""},
		{"an unknown charset", post(form+"; charset=klingon", "line=1&words=a"), carrier.ErrCharset, ""},
		{"what is not the charset it says", post(form+"; charset=utf-8", "line=%2B33639980001&words=%ff"), carrier.ErrCharset, "text"},
		{"too large", post(form, strings.Repeat("a", 201)), carrier.ErrTooLarge, ""},
	} {
		_, err := c.Read(r.request)
		if !errors.Is(err, r.want) {
			t.Errorf("%s: got %v, want %v", r.name, err, r.want)
		}
		var field *carrier.FieldError
		if has := errors.As(err, &field); has != (r.field != "") || has && field.Field != r.field {
			t.Errorf("%s: names the wrong field: %v", r.name, err)
		}
		if err != nil && strings.Contains(err.Error(), "33639980001") {
			t.Errorf("%s: the error holds a number: %v", r.name, err)
		}
	}
	r := post(form, "")
	r.Method = http.MethodDelete
	if _, err := c.Read(r); !errors.Is(err, carrier.ErrMethod) {
		t.Errorf("DELETE: got %v", err)
	}
}

func TestATextWithNoStatedCharsetIsReadAllTheSame(t *testing.T) {
	c := newChannel(t, `
name = "line"
kind = "sms"
read = { from = "const:+33639980001", text = "form:t" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
	messages, err := c.Read(post("application/x-www-form-urlencoded", "t=s%E9ch%E9"))
	if err != nil || messages[0].Text != "séché" {
		t.Errorf("got %+v, %v", messages, err)
	}
}
