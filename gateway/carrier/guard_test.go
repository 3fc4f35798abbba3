package carrier_test

import (
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	webhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"threshline/gateway/carrier"
)

// guarded makes a channel whose messages may lack an id, so that a repeated
// request is refused.
func guarded(t testing.TB, guard string) *carrier.Channel {
	return guardedBy(t, `optional = ["message"]`, guard)
}

func guardedBy(t testing.TB, read, guard string) *carrier.Channel {
	return newChannel(t, `
name = "line"
kind = "sms"
[read]
from = "json:/from"
text = "json:/text"
message = "json:/id"
`+read+`
[reply]
body = "{{.Text}}"
`+guard)
}

func admits(t *testing.T, name string, c *carrier.Channel, r *carrier.Request, now time.Time, want bool) {
	t.Helper()
	err := c.Admit(r, now)
	if (err == nil) != want || err != nil && !errors.Is(err, carrier.ErrRefused) {
		t.Errorf("%s: got %v, want let in: %v", name, err, want)
	}
	if err != nil {
		for _, secret := range []string{"not-a-real", "password-0", "MfKQ9r8G"} {
			if strings.Contains(err.Error(), secret) {
				t.Errorf("%s: the error shows the secret: %v", name, err)
			}
		}
	}
}

func TestATokenGuards(t *testing.T) {
	const right = "not-a-real-secret-0123456789"
	header := guarded(t, "[guard]\ntoken = \"env:TOKEN\"\ntoken_at = \"header:Authorization\"\ntoken_prefix = \"Bearer \"\n")
	admits(t, "the right token", header, get("/", "Authorization", "Bearer "+right), noon, true)
	admits(t, "no token", header, get("/"), noon, false)
	admits(t, "a wrong token", header, get("/", "Authorization", "Bearer "+right+"0"), noon, false)
	admits(t, "no prefix", header, get("/", "Authorization", right), noon, false)
	admits(t, "two tokens", header, get("/", "Authorization", "Bearer "+right, "Authorization", "Bearer "+right), noon, false)
	body := guarded(t, "[guard]\ntoken = \"env:TOKEN\"\ntoken_at = \"json:/key\"\n")
	admits(t, "in the body", body, post("application/json", `{"key":"`+right+`"}`), noon, true)
	admits(t, "in a body that is broken", body, post("application/json", `{"key":"`+right+`"`), noon, false)
	query := guarded(t, "[guard]\ntoken = \"env:TOKEN\"\ntoken_at = \"query:key\"\n")
	admits(t, "in the query", query, get("/?key="+right), noon, true)
	admits(t, "empty in the query", query, get("/?key="), noon, false)
}

func TestBasicAuthenticationGuards(t *testing.T) {
	c := guarded(t, "[guard]\nuser = \"carrier\"\npassword = \"env:PASSWORD\"\n")
	basic := func(user, password string) *carrier.Request {
		r, _ := http.NewRequest(http.MethodPost, "http://gateway.example/in/line", nil)
		r.SetBasicAuth(user, password)
		return carrier.NewRequest(r, nil)
	}
	admits(t, "right", c, basic("carrier", "password-0123456789"), noon, true)
	admits(t, "wrong password", c, basic("carrier", "password"), noon, false)
	admits(t, "wrong user", c, basic("other", "password-0123456789"), noon, false)
	admits(t, "none", c, get("/"), noon, false)
}

func TestAddressesGuardBehindOurOwnProxies(t *testing.T) {
	from := func(peer string, forwarded ...string) *carrier.Request {
		r := get("/")
		r.Peer = netip.MustParseAddr(peer)
		for _, f := range forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		return r
	}
	direct := guarded(t, "[guard]\nallow = [\"192.0.2.0/24\", \"2001:db8::/32\"]\n")
	admits(t, "inside", direct, from("192.0.2.7"), noon, true)
	admits(t, "inside, IPv6", direct, from("2001:db8::7"), noon, true)
	admits(t, "outside", direct, from("198.51.100.7"), noon, false)
	admits(t, "outside, posing in a header", direct, from("198.51.100.7", "192.0.2.7"), noon, false)
	admits(t, "nobody knows from where", direct, get("/"), noon, false)

	behind := guarded(t, "[guard]\nallow = [\"192.0.2.0/24\"]\nproxies = 2\n")
	admits(t, "behind two proxies", behind, from("10.0.0.2", "192.0.2.7, 10.0.0.1"), noon, true)
	admits(t, "in two headers", behind, from("10.0.0.2", "192.0.2.7", "10.0.0.1"), noon, true)
	admits(t, "with a port", behind, from("10.0.0.2", "192.0.2.7:4000, 10.0.0.1"), noon, true)
	admits(t, "posing further left", behind, from("10.0.0.2", "192.0.2.7, 203.0.113.1, 10.0.0.1"), noon, false)
	admits(t, "too few hops", behind, from("10.0.0.2", "192.0.2.7"), noon, false)
	admits(t, "no address at all", behind, from("10.0.0.2", "someone, 10.0.0.1"), noon, false)
}

const standardGuard = `
[guard.signature]
form = "standard-webhooks"
secret = ["env:KEY2B", "env:KEY"]
`

// The official vector of Standard Webhooks, as its own libraries test it.
// Source: [STANDARD-WEBHOOKS].
func TestTheOfficialVectorIsLetIn(t *testing.T) {
	c := guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1))
	vector := func() *carrier.Request {
		r := post("application/json", `{"test": 2432232314}`)
		r.Header.Set("webhook-id", "msg_p5jXN8AQM9LWM0D4loKWxJek")
		r.Header.Set("webhook-timestamp", "1614265330")
		r.Header.Set("webhook-signature", "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=")
		return r
	}
	sent := time.Unix(1614265330, 0)
	admits(t, "as given", c, vector(), sent, true)
	admits(t, "the very same again", c, vector(), sent.Add(time.Minute), false)
	change := func(name string, edit func(*carrier.Request)) {
		r := vector()
		edit(r)
		admits(t, name, guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1)), r, sent, false)
	}
	change("another body", func(r *carrier.Request) { r.Body = []byte(`{"test": 2432232315}`) })
	change("another id", func(r *carrier.Request) { r.Header.Set("webhook-id", "msg_other") })
	change("another time", func(r *carrier.Request) { r.Header.Set("webhook-timestamp", "1614265331") })
	change("no time", func(r *carrier.Request) { r.Header.Del("webhook-timestamp") })
	change("another version only", func(r *carrier.Request) {
		r.Header.Set("webhook-signature", "v2,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=")
	})
	change("a torn signature", func(r *carrier.Request) { r.Header.Set("webhook-signature", "v1,g0hM9SsE") })
	rotated := vector()
	rotated.Header.Set("webhook-signature", "v1,AAAA v1a,xyz v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=")
	admits(t, "one of several", guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1)), rotated, sent, true)
	for _, off := range []time.Duration{-5*time.Minute - time.Second, 5*time.Minute + time.Second} {
		admits(t, fmt.Sprintf("%v off", off), guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1)), vector(), sent.Add(off), false)
	}
	admits(t, "five minutes off", guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1)), vector(), sent.Add(5*time.Minute), true)
}

// The reference library signs, and we let it in: and not what it did not sign.
func TestTheReferenceLibraryAgrees(t *testing.T) {
	library, err := webhooks.NewWebhook("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	if err != nil {
		t.Fatal(err)
	}
	c := guarded(t, strings.Replace(standardGuard, `"env:KEY2B", `, "", 1))
	for i := range 200 {
		body := fmt.Sprintf(`{"from":"+33639980001","text":"%s","id":%d}`, strings.Repeat("é", i), i)
		id := fmt.Sprintf("msg_%d", i)
		signature, err := library.Sign(id, noon, []byte(body))
		if err != nil {
			t.Fatal(err)
		}
		r := post("application/json", body)
		r.Header.Set("webhook-id", id)
		r.Header.Set("webhook-timestamp", fmt.Sprint(noon.Unix()))
		r.Header.Set("webhook-signature", signature)
		admits(t, id, c, r, noon, true)
		r.Body = append(r.Body, ' ')
		admits(t, id+" with a space more", c, r, noon, false)
	}
}

const ownGuard = `
[guard.signature]
secret = ["env:KEY2"]
at = "header:X-Sign"
prefix = "hmac="
timestamp_at = "header:X-At"
timestamp_unit = "ms"
over = "{{.Timestamp}}|{{.Method}}|{{.Path}}|{{.Body}}"
tolerance = "1m"
`

func TestASignatureOfTheCarriersOwnForm(t *testing.T) {
	signed := func(at time.Time, body string) *carrier.Request {
		r := post("application/json", body)
		stamp := fmt.Sprint(at.UnixMilli())
		r.Header.Set("X-At", stamp)
		sum := hmacSHA256("not-a-real-key-0123456789", stamp+"|POST|/in/line|"+body)
		r.Header.Set("X-Sign", "hmac="+strings.ToUpper(hex.EncodeToString(sum)))
		return r
	}
	c := guarded(t, ownGuard)
	admits(t, "right, in capitals", c, signed(noon, "{}"), noon, true)
	admits(t, "again", c, signed(noon, "{}"), noon, false)
	admits(t, "again, while its time still holds", c, signed(noon, "{}"), noon.Add(59*time.Second), false)
	admits(t, "another one", c, signed(noon, "{ }"), noon, true)
	admits(t, "too old", c, signed(noon, "{  }"), noon.Add(61*time.Second), false)
	other := signed(noon, "{}")
	other.URL.Path = "/in/other"
	admits(t, "by another way", guarded(t, ownGuard), other, noon, false)
	bare := signed(noon, "{}")
	bare.Header.Set("X-Sign", strings.TrimPrefix(bare.Header.Get("X-Sign"), "hmac="))
	admits(t, "without its prefix", guarded(t, ownGuard), bare, noon, false)
	again := guardedBy(t, "", ownGuard)
	admits(t, "where every message has an id", again, signed(noon, "{}"), noon, true)
	admits(t, "the same may come again", again, signed(noon, "{}"), noon, true)
	strict := guardedBy(t, "", ownGuard+"identical = \"refuse\"\n")
	admits(t, "unless it is not wanted", strict, signed(noon, "{}"), noon, true)
	admits(t, "then it is refused", strict, signed(noon, "{}"), noon, false)
}

// A replayed request is refused as long as its time holds, however many came
// between and however the memory turned over.
func TestReplaysAreRememberedAsLongAsTheyCouldPass(t *testing.T) {
	c := guarded(t, ownGuard)
	signed := func(at time.Time, i int) *carrier.Request {
		body := fmt.Sprint(i)
		r := post("application/json", body)
		stamp := fmt.Sprint(at.UnixMilli())
		r.Header.Set("X-At", stamp)
		r.Header.Set("X-Sign", "hmac="+hex.EncodeToString(hmacSHA256("not-a-real-key-0123456789", stamp+"|POST|/in/line|"+body)))
		return r
	}
	for i := range 600 {
		now := noon.Add(time.Duration(i) * time.Second)
		// The sender's clock is up to a minute ahead or behind.
		at := now.Add(time.Duration(i%121-60) * time.Second)
		admits(t, "first", c, signed(at, i), now, true)
		for later := time.Duration(0); later <= 2*time.Minute; later += 30 * time.Second {
			if i%7 == 0 {
				admits(t, "replayed", c, signed(at, i), now.Add(later%(30*time.Second)), false)
			}
		}
		if j := i - 119; j >= 0 && j%121 == 120 {
			was := noon.Add(time.Duration(j) * time.Second)
			admits(t, "replayed at the end of its time", c, signed(was.Add(time.Minute), j), now, false)
		}
	}
}
