package carrier_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshline/gateway/carrier"
)

// good is a configuration that every case spoils in one place.
const good = `
name = "line"
kind = "sms"
budget = 160
region = "FR"
[read]
from = "form:from"
text = "form:text"
message = "form:id"
[reply]
body = "{{.Text}}"
[guard]
token = "env:TOKEN"
token_at = "header:X-Token"
[send]
url = "https://carrier.example/send"
body = '{"to":{{json .To}},"text":{{json .Text}}}'
[receipt]
id = "json:/id"
state = "json:/state"
delivered = ["there"]
`

// documented is the channel that the documentation of the configuration shows.
const documented = `
name = "valley-ussd"
kind = "ussd"
budget = 160
[read]
from = "form:msisdn"
text = "form:input"
session = "form:sid"
message = "form:mid"
dialogue = "latest"
separator = "*"
[reply]
content_type = "text/plain; charset=utf-8"
body = "{{.Text}}"
headers = { X-More = "{{.More}}" }
[guard]
token = "env:TOKEN"
token_at = "header:X-Token"
allow = ["192.0.2.0/24"]
[send]
url = "https://carrier.example/send"
content_type = "application/json"
body = '{"to":{{json .To}},"text":{{json .Text}}}'
id = "json:/id"
per_segment = 0.9
daily_limit = 2000
[receipt]
id = "json:/id"
state = "json:/status"
delivered = ["delivered"]
failed = ["failed", "expired"]
`

func TestTheDocumentedChannelIsGood(t *testing.T) {
	c := newChannel(t, documented)
	if c.Name() != "valley-ussd" || c.Kind() != "ussd" || c.Budget().Septets != 160 || c.ByCall() || !c.CanSend() || c.SendTimeout() != 15*time.Second {
		t.Errorf("got %+v", c.Config())
	}
}

func TestAConfigurationFaultNamesItsKey(t *testing.T) {
	newChannel(t, good)
	for _, c := range []struct{ key, old, new string }{
		{"name", `name = "line"`, `name = "a/b"`},
		{"kind", `kind = "sms"`, `kind = "fax"`},
		{"budget", `budget = 160`, `budget = 20`},
		{"budget", "kind = \"sms\"\nbudget = 160", "kind = \"ussd\"\nbudget = 183"},
		{"region", `region = "FR"`, `region = "XX"`},
		{"allow_prefixes", `region = "FR"`, `allow_prefixes = ["0033"]`},
		{"read.from", `from = "form:from"`, ``},
		{"read.from", `from = "form:from"`, `from = "forms:from"`},
		{"read.text", `text = "form:text"`, `text = "xml:///["`},
		{"read.message", `message = "form:id"`, `message = "path:0"`},
		{"read.session", `kind = "sms"`, `kind = "ussd"`},
		{"read.dialogue", `message = "form:id"`, `dialogue = "all"`},
		{"read.dialogue", `message = "form:id"`, `dialogue = "whole"`},
		{"read.start", `message = "form:id"`, `start = ["begin"]`},
		{"read.timeout", `message = "form:id"`, "event = \"form:e\"\nend = [\"over\"]\ntimeout = [\"Over\"]"},
		{"read.each", `message = "form:id"`, `each = "form:all"`},
		{"read.charset", `message = "form:id"`, `charset = "klingon"`},
		{"read.text_coding", `message = "form:id"`, `text_coding = "base64"`},
		{"read.coding", `message = "form:id"`, `coding = "form:c"`},
		{"read.numbers", `message = "form:id"`, `numbers = "any"`},
		{"read.methods", `message = "form:id"`, `methods = ["TRACE"]`},
		{"read.optional", `message = "form:id"`, `optional = ["from"]`},
		{"reply.body", `body = "{{.Text}}"`, `body = "{{.Txt}}"`},
		{"reply.body", `body = "{{.Text}}"`, `body = "{{.Text"`},
		{"reply.body", `body = "{{.Text}}"`, ``},
		{"reply.via", `body = "{{.Text}}"`, `via = "post"`},
		{"reply.content_type", `body = "{{.Text}}"`, "body = \"x\"\ncontent_type = \"text/plain; charset=klingon\""},
		{"reply.headers", `body = "{{.Text}}"`, "body = \"x\"\nheaders = { \"A B\" = \"1\" }"},
		{"reply.status", `body = "{{.Text}}"`, "body = \"x\"\nstatus = 99"},
		{"guard", "token = \"env:TOKEN\"\ntoken_at = \"header:X-Token\"", ``},
		{"guard.open", `token = "env:TOKEN"`, "token = \"env:TOKEN\"\nopen = true"},
		{"guard.token", `token_at = "header:X-Token"`, ``},
		{"guard.token", `env:TOKEN`, `env:NOTHING`},
		{"guard.token", `env:TOKEN`, `my-secret-written-out`},
		{"guard.token_at", `header:X-Token`, `const:1`},
		{"guard.user", `token = "env:TOKEN"`, "token = \"env:TOKEN\"\nuser = \"a\""},
		{"guard.allow", `token = "env:TOKEN"`, "token = \"env:TOKEN\"\nallow = [\"192.0.2\"]"},
		{"send.url", `https://carrier.example/send`, `http://carrier.example/send`},
		{"send.url", `https://carrier.example/send`, `https://{{.To}}.example/send`},
		{"send.url", `https://carrier.example/send`, `https://{{.Text}}/send`},
		{"send.url", `https://carrier.example/send`, `ftp://carrier.example/send`},
		{"send.url", `https://carrier.example/send`, `https://a:b@carrier.example/send`},
		{"send.parallel", `[send]`, "[send]\nparallel = 65"},
		{"send.per_segment", `[send]`, "[send]\ndaily_limit = -1"},
		{"send.method", `[send]`, "[send]\nmethod = \"DELETE\""},
		{"send.user", `[send]`, "[send]\nuser = \"a\""},
		{"send.final", `[send]`, "[send]\nfinal = [\"no\"]"},
		{"guard.proxies", `token = "env:TOKEN"`, "token = \"env:TOKEN\"\nproxies = -1"},
		{"send.body", `{{json .To}}`, `{{json .Too}}`},
		{"send.ok", `[send]`, "[send]\nok = \"json:/ok\""},
		{"send.id", `[send]`, "[send]\nid = \"query:id\""},
		{"send.token", `[send]`, "[send]\ntoken = \"env:TOKEN\""},
		{"send.token", `[send]`, "[send]\ntoken_at = \"header:X-Key\""},
		{"send.headers", `[send]`, "[send]\nheaders = { authorization = \"Bearer x\" }"},
		{"send.content_type", `[send]`, "[send]\ncontent_type = \"text/plain; charset=klingon\""},
		{"read.from", `message = "form:id"`, `message = "json:/id"`},
		{"send.signature.at", `[receipt]`, "[send.signature]\nsecret = [\"env:KEY2\"]\n[receipt]"},
		{"receipt.id", `id = "json:/id"`, ``},
		{"receipt.failed", `delivered = ["there"]`, "delivered = [\"there\"]\nfailed = [\"There\"]"},
	} {
		spoiled := strings.Replace(good, c.old, c.new, 1)
		if spoiled == good {
			t.Fatalf("%s: %q is not in the good configuration", c.key, c.old)
		}
		_, err := carrier.New(parseConfig(t, spoiled), setup())
		var fault *carrier.ConfigError
		if !errors.As(err, &fault) || fault.Key != c.key {
			t.Errorf("%s: %q instead of %q: got %v", c.key, c.new, c.old, err)
			continue
		}
		if strings.Contains(err.Error(), "my-secret-written-out") {
			t.Errorf("the error shows the secret: %v", err)
		}
	}
}

func TestASignatureHasToCoverWhatIsRead(t *testing.T) {
	signature := func(read, more string) error {
		_, err := carrier.New(parseConfig(t, `
name = "line"
kind = "sms"
[read]
text = "form:text"
`+read+`
[reply]
body = "{{.Text}}"
[guard.signature]
secret = ["env:KEY2"]
at = "header:X-Sign"
`+more), setup())
		return err
	}
	const dated = "timestamp_at = \"header:X-At\"\n"
	for _, c := range []struct{ name, read, more, key string }{
		{"time and body", `from = "form:from"`, dated, ""},
		{"a query field that is covered", `from = "query:from"`, dated + `over = "{{.Timestamp}} {{.Query}} {{.Body}}"`, ""},
		{"a header that is covered", `from = "header:X-From"`, dated + `over = '{{.Timestamp}} {{.Header.Get "X-From"}} {{.Body}}'`, ""},
		{"a query field that is not", `from = "query:from"`, dated, "guard.signature.over"},
		{"a header that is not", `from = "header:X-From"`, dated, "guard.signature.over"},
		{"a path that is not", `from = "path:1"`, dated, "guard.signature.over"},
		{"a body that is not", `from = "form:from"`, dated + `over = "{{.Timestamp}}"`, "guard.signature.over"},
		{"a time that is not", `from = "form:from"`, dated + `over = "{{.Body}}"`, "guard.signature.over"},
		{"no time at all", `from = "form:from"`, `over = "{{.Body}}"`, "guard.signature.timestamp_at"},
		{"no time, on purpose, without an id", `from = "form:from"`, "over = \"{{.Body}}\"\nundated = true", "guard.signature.undated"},
		{"no time, on purpose", "from = \"form:from\"\nmessage = \"form:id\"", "over = \"{{.Body}}\"\nundated = true", ""},
		{"the same again without an id", `from = "form:from"`, dated + `identical = "pass"`, "guard.signature.identical"},
		{"the same again with an id", "from = \"form:from\"\nmessage = \"form:id\"", dated + `identical = "pass"`, ""},
		{"the same again with an id that is not signed", "from = \"form:from\"\nmessage = \"header:X-Id\"", dated + `identical = "pass"`, "guard.signature.identical"},
		{"the same again with an id that may be missing", "from = \"form:from\"\nmessage = \"form:id\"\noptional = [\"message\"]", dated + `identical = "pass"`, "guard.signature.identical"},
		{"the same again with a signed id", "from = \"form:from\"\nmessage = \"header:X-Id\"", dated + "id_at = \"header:X-Id\"\nover = \"{{.ID}}.{{.Timestamp}}.{{.Body}}\"\nidentical = \"pass\"", ""},
		{"receipts that are covered", `from = "form:from"`, dated + "[receipt]\nid = \"form:id\"\nstate = \"form:state\"\ndelivered = [\"there\"]", ""},
		{"receipts that are not", `from = "form:from"`, dated + "[receipt]\nid = \"query:id\"\nstate = \"form:state\"\ndelivered = [\"there\"]", "guard.signature.over"},
		{"an unknown unit", `from = "form:from"`, dated + `timestamp_unit = "h"`, "guard.signature.timestamp_unit"},
		{"an unknown form", `from = "form:from"`, dated + `form = "other"`, "guard.signature.form"},
	} {
		err := signature(c.read, c.more)
		var fault *carrier.ConfigError
		if c.key == "" && err != nil || c.key != "" && (!errors.As(err, &fault) || fault.Key != c.key) {
			t.Errorf("%s: got %v, want a fault of %q", c.name, err, c.key)
		}
	}
}

func TestSecretsComeFromTheEnvironmentOrAFile(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "token"), []byte("from-a-file-0123456789\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("CARRIER_TEST_TOKEN", "from-the-environment")
	lookup := carrier.Secrets(dir)
	for reference, want := range map[string]string{
		"env:CARRIER_TEST_TOKEN": "from-the-environment",
		"file:token":             "from-a-file-0123456789",
	} {
		if got, err := lookup(reference); err != nil || got != want {
			t.Errorf("%s: got %q, %v", reference, got, err)
		}
	}
	for _, reference := range []string{"env:CARRIER_TEST_NOTHING", "file:nothing", "in-the-open", "env:", ""} {
		if _, err := lookup(reference); !errors.Is(err, carrier.ErrSecret) || reference == "in-the-open" && strings.Contains(err.Error(), reference) {
			t.Errorf("%q: got %v", reference, err)
		}
	}
	if got := fmt.Sprintf("%v %+v %#v %s", carrier.Secret{}, carrier.Secret{}, carrier.Secret{}, carrier.Secret{}); got != "*** *** *** ***" {
		t.Errorf("a secret shows itself: %s", got)
	}
}

func TestAShortSecretIsRefused(t *testing.T) {
	cfg := parseConfig(t, good)
	_, err := carrier.New(cfg, carrier.Setup{Secrets: func(string) (string, error) { return "tiny", nil }})
	var fault *carrier.ConfigError
	if !errors.As(err, &fault) || fault.Key != "guard.token" || strings.Contains(err.Error(), "tiny") {
		t.Errorf("got %v", err)
	}
}

func TestAChannelWithoutItsSecretsAdmitsNothing(t *testing.T) {
	c, err := carrier.New(parseConfig(t, good), carrier.Setup{Unguarded: true})
	if err != nil {
		t.Fatal(err)
	}
	admits(t, "anything", c, get("/", "X-Token", ""), noon, false)
	if _, err := c.Call(t.Context(), outgoing, noon); !errors.Is(err, carrier.ErrSecret) {
		t.Errorf("it sends: %v", err)
	}
}
