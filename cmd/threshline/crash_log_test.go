package main

import (
	"net/http"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

// busyLog has the program write as much as it ever does, while phones talk and
// rude requests come in, and looks for what a log must not hold.
func busyLog(t *testing.T, p program) {
	s, town, phones := inhabit(t, p, 30)
	s.flags = []string{"--debug"}
	run := s.start(t)
	run.ready(t)
	town.move(run.address)
	town.answered(100)
	rude := rudeRequests()
	for _, method := range []string{http.MethodPost, http.MethodPost, http.MethodPut} {
		for _, r := range rude {
			r.send(t, run, method)
		}
	}
	if err := run.cmd.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	town.answered(200)
	finish(t, s, town, run, phones) // looks for the phones' numbers and the token
	log := s.log.String()
	for _, r := range rude {
		for _, secret := range r.secrets {
			if strings.Contains(log, secret) {
				t.Errorf("the log holds %q", secret)
			}
		}
	}
	// Whatever the form: no number of the range, also with spaces or escapes.
	if found := regexp.MustCompile(`(?:33|0)\W{0,3}6\W{0,3}39\W{0,3}98\W{0,3}\d\d\W{0,3}\d\d|7700\W{0,3}900\W{0,3}\d{3}`).FindString(log); found != "" {
		t.Errorf("the log holds the number %q", found)
	}
	for _, want := range []string{`"message":"request not taken"`, `"message":"outgoing message"`, `"message":"configuration loaded again"`} {
		if !strings.Contains(log, want) {
			t.Errorf("the log holds no %s: this test has not seen it all", want)
		}
	}
}

// rudeRequest is one that is not taken, with what of it must not be logged.
type rudeRequest struct {
	path, contentType, token, body string
	secrets                        []string
}

func rudeRequests() []rudeRequest {
	const form, ascii = "application/x-www-form-urlencoded", "a-guess-at-the-token-1234"
	return []rudeRequest{
		{"/in/valley-ussd", form, ascii, "msisdn=%2B447700900123&input=1&sid=1&mid=1", []string{ascii, "447700900123"}},
		{"/in/valley-ussd?key=" + ascii, form, "", "msisdn=%2B447700900123", []string{ascii}},
		{"/in/valley-ussd", form, valleyToken, "msisdn=447700900123 or so&input=1&sid=1&mid=2&more=%zz", []string{"or so"}},
		{"/in/valley-ussd", form, valleyToken, "msisdn=" + strings.Repeat("447700900123", 20) + "&input=secret+words&sid=1&mid=3", []string{"secret words", "secret+words"}},
		{"/in/valley-ussd", form, valleyToken, "input=my+number+is+07700+900123&sid=1&mid=4", []string{"07700 900123", "07700+900123"}},
		{"/in/valley-sms", "application/json", valleyToken, `{"from":"+447700900123","text":"my grain","id":`, []string{"my grain"}},
		{"/in/+447700900123", form, valleyToken, "", []string{"447700900123"}},
		{"/receipt/valley-sms", "application/json", valleyToken, `{"id":"+447700900123","state":"eaten"}`, []string{"447700900123", "eaten"}},
		{"/receipt/valley-sms", "application/json", valleyToken, `{"id":"+447700900123","state":"there"}`, []string{"447700900123"}},
		{"/in/valley-ussd", form, valleyToken, strings.Repeat("x", 70<<10), nil},
		{"/desk/sign-in", form, "", "name=%2B447700900123&password=" + ascii, []string{ascii}},
		{"/admin/v1/export", form, ascii, "", []string{ascii}},
		{"/447700900123", form, "", "", nil},
	}
}

func (r rudeRequest) send(t *testing.T, run *child, method string) {
	t.Helper()
	req, err := http.NewRequest(method, "http://"+run.address+r.path, strings.NewReader(r.body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", r.contentType)
	req.Header.Set("X-Token", r.token)
	req.Header.Set("Authorization", "Bearer "+r.token)
	if status, text, err := exchangeOnce(http.DefaultClient, req); err != nil && len(r.body) < 64<<10 || status >= 500 {
		t.Errorf("%s: %d %q, %v", r.path, status, text, err)
	}
}
