package main

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"

	"threshline/cmd/threshline/hear"
	"threshline/gateway/carrier"
	"threshline/session"
)

var updateHeard = flag.Bool("update-heard", false, "write what is heard of the captured requests anew")

const carrierData = "../../testdata/carrier/"

// heardChannel builds a channel of testdata with secrets that are invented.
func heardChannel(t *testing.T, name string) *carrier.Channel {
	t.Helper()
	text, err := os.ReadFile(carrierData + name + ".toml")
	if err != nil {
		t.Fatal(err)
	}
	var cfg carrier.Config
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&cfg); err != nil {
		t.Fatal(err)
	}
	c, err := carrier.New(cfg, carrier.Setup{Region: "FR", Secrets: func(reference string) (string, error) {
		switch reference {
		case "env:PASSWORD":
			return "password-0123456789", nil
		case "env:KEY":
			return "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", nil
		}
		return "not-a-real-secret-0123456789", nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestHearTellsWhatIsUnderstood holds what is printed of each captured request
// against a file that a person setting up a carrier can judge.
func TestHearTellsWhatIsUnderstood(t *testing.T) {
	names, err := filepath.Glob(carrierData + "*.http")
	if err != nil || len(names) == 0 {
		t.Fatalf("found no request: %v", err)
	}
	for _, name := range names {
		base := strings.TrimSuffix(filepath.Base(name), ".http")
		t.Run(base, func(t *testing.T) {
			channel, _, _ := strings.Cut(base, ".")
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			request, err := carrier.ParseCaptured(raw)
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			understood := hear.Print(&out, heardChannel(t, channel), request, hear.With{
				Now: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC), Currency: "MVS",
				Answer: func(in carrier.Inbound) (session.Reply, error) {
					return session.Reply{Text: "You sent “" + in.Text + "”", More: true}, nil
				},
			})
			bad := strings.Contains(out.String(), "NO: ") || strings.Contains(out.String(), "NOT UNDERSTOOD")
			if understood == bad {
				t.Errorf("returned %v for\n%s", understood, out.String())
			}
			golden := strings.TrimSuffix(name, ".http") + ".heard"
			if *updateHeard {
				if err := os.WriteFile(golden, out.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), out.String()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestHearTakesTheChannelThatTheAddressNames(t *testing.T) {
	listen := func(args ...string) (out string) {
		t.Helper()
		capture := "POST /in/valley-sms HTTP/1.1\nHost: gateway.example\nContent-Type: application/x-www-form-urlencoded\n\nfrom=0639980011&text=HELP&id=1\n"
		var stdout, stderr bytes.Buffer
		run(t.Context(), append([]string{"hear"}, append(args, "-")...), stdio{strings.NewReader(capture), &stdout, &stderr})
		return stdout.String() + stderr.String()
	}
	if out := listen(); !strings.HasPrefix(out, "channel   valley-sms (sms)") || strings.Contains(out, "--channel") {
		t.Errorf("without a channel:\n%s", out)
	}
	out := listen("--channel", "valley-ussd")
	if !strings.HasPrefix(out, "channel   valley-ussd (ussd)") || !strings.Contains(out, "the address is that of a channel \"valley-sms\"") {
		t.Errorf("with another channel:\n%s", out)
	}
}

func TestHearRunsOnTheDemonstrationsChannels(t *testing.T) {
	capture := filepath.Join(t.TempDir(), "capture.http")
	write := func(body string) {
		head := "POST /in/valley-ussd HTTP/1.1\nHost: gateway.example\nContent-Type: application/x-www-form-urlencoded\n\n"
		if err := os.WriteFile(capture, []byte(head+body+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	listen := func() (code int, out, complaint string) {
		var stdout, stderr bytes.Buffer
		code = run(t.Context(), []string{"hear", capture}, stdio{strings.NewReader(""), &stdout, &stderr})
		return code, stdout.String(), stderr.String()
	}
	write("msisdn=0639980011&input=&sid=s-1&mid=m-1")
	code, out, complaint := listen()
	for _, want := range []string{"that is +33639980011", "reply ", "of 160 septets", "X-More: true"} {
		if code != 0 || !strings.Contains(out, want) {
			t.Errorf("exit %d, %q is not in:\n%s%s", code, want, out, complaint)
		}
	}
	write("phone=0639980011&input=&sid=s-1&mid=m-1")
	if code, out, _ = listen(); code != 1 || !strings.Contains(out, "the request has form:input, form:mid, form:phone, form:sid") {
		t.Errorf("exit %d for a request without a sender:\n%s", code, out)
	}
	if err := os.WriteFile(capture, []byte("no request at all"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, complaint = listen(); code != 1 || !strings.Contains(complaint, "not a raw HTTP request") {
		t.Errorf("exit %d for what is no request: %s", code, complaint)
	}
}

func TestHearWithoutTheSecretsStillReads(t *testing.T) {
	cfg := carrier.Config{
		Name: "line", Kind: session.SMS,
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}"},
		Guard: carrier.GuardConfig{Token: "env:THRESHLINE_TEST_NOT_SET", TokenAt: "header:X-Token"},
	}
	c, unread, err := channelToHear(cfg, carrier.Setup{Region: "FR"})
	if err != nil || !errors.Is(unread, carrier.ErrSecret) {
		t.Fatalf("got %v, unread %v", err, unread)
	}
	request, err := carrier.ParseCaptured([]byte("POST /in/line HTTP/1.1\nHost: a\n\nfrom=%2B33639980001&text=hello\n"))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	understood := hear.Print(&out, c, request, hear.With{Unread: unread, Answer: func(carrier.Inbound) (session.Reply, error) {
		return session.Reply{Text: "ok"}, nil
	}})
	if !understood || !strings.Contains(out.String(), "not asked") || !strings.Contains(out.String(), "+33639980001") {
		t.Errorf("understood %v:\n%s", understood, out.String())
	}
	cfg.Guard.Token = "written-out"
	if _, _, err = channelToHear(cfg, carrier.Setup{}); err != nil && strings.Contains(err.Error(), "written-out") {
		t.Errorf("the error shows the secret: %v", err)
	}
}
