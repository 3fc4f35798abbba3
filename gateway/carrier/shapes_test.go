package carrier_test

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"

	"threshline/gateway/carrier"
	"threshline/session"
)

var update = flag.Bool("update", false, "write the golden files anew")

const testdata = "../../testdata/carrier/"

// secrets are the invented secrets of the test channels.
func secrets(reference string) (string, error) {
	all := map[string]string{
		"env:TOKEN":    "not-a-real-secret-0123456789",
		"env:PASSWORD": "password-0123456789",
		"env:KEY":      "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
		"env:KEY2":     "not-a-real-key-0123456789",
	}
	if v, ok := all[reference]; ok {
		return v, nil
	}
	return "", fmt.Errorf("%w: there is none such", carrier.ErrSecret)
}

func setup() carrier.Setup { return carrier.Setup{Region: "FR", Secrets: secrets} }

func parseConfig(t testing.TB, text string) carrier.Config {
	t.Helper()
	var cfg carrier.Config
	if err := toml.NewDecoder(strings.NewReader(text)).DisallowUnknownFields().Decode(&cfg); err != nil {
		t.Fatal(err)
	}
	return cfg
}

func newChannel(t testing.TB, text string) *carrier.Channel {
	t.Helper()
	c, err := carrier.New(parseConfig(t, text), setup())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// noon is when the tests take place.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// TestShapes reads each captured request of testdata by its channel, and holds
// what is understood and what would be answered against the golden file.
func TestShapes(t *testing.T) {
	names, err := filepath.Glob(testdata + "*.http")
	if err != nil || len(names) == 0 {
		t.Fatalf("found no request: %v", err)
	}
	for _, name := range names {
		base := strings.TrimSuffix(filepath.Base(name), ".http")
		t.Run(base, func(t *testing.T) {
			channel, _, _ := strings.Cut(base, ".")
			c := newChannel(t, string(readFile(t, testdata+channel+".toml")))
			got := describe(t, c, readFile(t, name))
			golden := strings.TrimSuffix(name, ".http") + ".golden"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if diff := cmp.Diff(string(readFile(t, golden)), got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// describe lets a channel admit, read and answer a captured request.
func describe(t *testing.T, c *carrier.Channel, raw []byte) string {
	r, err := carrier.ParseCaptured(raw)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := c.Admit(r, noon); err != nil {
		fmt.Fprintf(&out, "admit    %v\n", err)
		return out.String()
	}
	if strings.HasPrefix(r.URL.Path, "/receipt/") {
		receipts, err := c.ReadReceipt(r)
		for _, one := range receipts {
			fmt.Fprintf(&out, "receipt  of %q: %s\n", one.CarrierID, one.State)
		}
		if err != nil {
			fmt.Fprintf(&out, "error    %v\n", err)
		}
		return out.String()
	}
	messages, err := c.Read(r)
	for _, in := range messages {
		fmt.Fprintf(&out, "message  from %s text %q event %s\n", string(in.From), in.Text, in.Event)
		fmt.Fprintf(&out, "         id %q session %q whole %q dialled %q\n", in.MessageID, in.NetworkSession, in.Whole, in.Dialled)
		fmt.Fprintf(&out, "         may be answered by SMS: %v\n", c.CanAnswer(in.From))
	}
	if err != nil {
		fmt.Fprintf(&out, "error    %v\n", err)
		return out.String()
	}
	var answers []carrier.Answer
	for _, in := range messages {
		reply := session.Reply{Text: "Grade II: \"à l’ombre\" <1 % & dry", More: true}
		answers = append(answers, carrier.Answer{Reply: reply, To: in})
	}
	response, err := c.Write(answers...)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintf(&out, "answer   %d\n", response.Status)
	for _, key := range slices.Sorted(maps.Keys(response.Header)) {
		fmt.Fprintf(&out, "         %s: %s\n", key, response.Header.Get(key))
	}
	fmt.Fprintf(&out, "         %q\n", response.Body)
	return out.String()
}
