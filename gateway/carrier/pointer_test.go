package carrier_test

import (
	"errors"
	"strings"
	"testing"

	"threshline/gateway/carrier"
)

func pointed(t *testing.T, pointer, body string) (string, error) {
	t.Helper()
	cfg := parseConfig(t, `
name = "line"
kind = "sms"
read = { from = "const:+33639980001" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
	cfg.Read.Text = "json:" + pointer
	c, err := carrier.New(cfg, setup())
	if err != nil {
		return "", err
	}
	messages, err := c.Read(post("application/json", body))
	if err != nil {
		return "", err
	}
	return messages[0].Text, nil
}

// The document and pointers are the example of [RFC-6901 §5], from memory,
// with numbers that tell the members apart.
func TestPointersFollowTheStandardsExample(t *testing.T) {
	const document = `{"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8,"o~1p":9}`
	for pointer, want := range map[string]string{
		"/foo/0": "bar", "/": "0", "/a~1b": "1", "/c%d": "2", "/e^f": "3", "/g|h": "4",
		`/i\j`: "5", `/k"l`: "6", "/ ": "7", "/m~0n": "8", "/o~01p": "9",
	} {
		if got, err := pointed(t, pointer, document); err != nil || got != want {
			t.Errorf("%q points to %q, %v, want %q", pointer, got, err, want)
		}
	}
	for pointer, want := range map[string]error{
		"": carrier.ErrNotText, "/foo": carrier.ErrNotText, "/foo/2": carrier.ErrMissing, "/foo/-": carrier.ErrMissing,
		"/foo/00": carrier.ErrMissing, "/foo/+1": carrier.ErrMissing, "/nothing": carrier.ErrMissing, "/foo/0/x": carrier.ErrMissing,
	} {
		if _, err := pointed(t, pointer, document); !errors.Is(err, want) {
			t.Errorf("%q: got %v, want %v", pointer, err, want)
		}
	}
}

func TestAPointerThatIsNoneIsAFaultOfTheConfiguration(t *testing.T) {
	for _, pointer := range []string{"foo", "/a~2b", "/a~"} {
		var fault *carrier.ConfigError
		if _, err := pointed(t, pointer, "{}"); !errors.As(err, &fault) || fault.Key != "read.text" {
			t.Errorf("%q: got %v", pointer, err)
		}
	}
}

func TestJSONIsReadStrictly(t *testing.T) {
	for name, body := range map[string]string{
		"nothing":           "",
		"cut off":           `{"t":"a"`,
		"a key twice":       `{"t":"a","t":"b"}`,
		"more after it":     `{"t":"a"} {"t":"b"}`,
		"nested too deeply": strings.Repeat(`[`, 40) + strings.Repeat(`]`, 40),
		"a stray comma":     `{"t":"a",}`,
	} {
		if _, err := pointed(t, "/t", body); !errors.Is(err, carrier.ErrMalformed) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	for name, c := range map[string][2]string{
		"a big number keeps its digits": {`{"t":33639980001234567890}`, "33639980001234567890"},
		"a truth value":                 {`{"t":true}`, "true"},
		"a byte order mark":             {"\ufeff" + `{"t":"a"}`, "a"},
		"an escaped surrogate pair":     {`{"t":"\ud83c\udf3e"}`, "🌾"},
	} {
		if got, err := pointed(t, "/t", c[0]); err != nil || got != c[1] {
			t.Errorf("%s: got %q, %v", name, got, err)
		}
	}
	if _, err := pointed(t, "/t", `{"t":null}`); !errors.Is(err, carrier.ErrMissing) {
		t.Errorf("null: got %v", err)
	}
}
