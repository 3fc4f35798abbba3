package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// A grower joins by her phone, files a mouldy lot of which a coordinator is told
// with her name, is answered by call, and has a reminder; then she leaves. After
// `threshline compact` neither her name nor her number is in the raw bytes of the
// store, the journal, a new backup, an export with names, or the log: by the real
// program, while it runs and when it has ended.
func TestTheProgramForgetsWhoLeaves(t *testing.T) {
	t.Parallel()
	const name, number, coordinator = "Zawadiki", "+33639987654", "+33639987601"
	carrier := &copies{came: make(chan struct{})}
	out := httptest.NewServer(carrier)
	t.Cleanup(out.Close)
	s := newSite(t, buildProgram(t), strings.TrimPrefix(out.URL, "http://"), `every = "2s"`, `every = "0s"`)
	run := s.start(t)
	run.ready(t)
	do := func(args ...string) string {
		t.Helper()
		cmd := exec.Command(s.path, args...)
		var problem bytes.Buffer
		cmd.Stderr = &problem
		said, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: %v %s", args, err, problem.String())
		}
		return string(said)
	}
	token := filepath.Join(t.TempDir(), "token")
	secret := do("access", "token", "--config", s.config(), "--name", "test", "--scope", "export,identified,roster,backup,upkeep")
	if err := os.WriteFile(token, []byte(secret), 0o600); err != nil {
		t.Fatal(err)
	}
	at := "http://" + run.address
	roster := filepath.Join(t.TempDir(), "people.csv")
	if err := os.WriteFile(roster, []byte("role,number,name,district\ncoordinator,"+coordinator+",Pendo,Kisima\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	do("roster", "import", "--at", at, "--token-file", token, roster)
	n := 0
	post := func(channel, content, body string) {
		t.Helper()
		req, err := http.NewRequest(http.MethodPost, at+"/in/"+channel, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Token", valleyToken)
		req.Header.Set("Content-Type", content)
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		if text, _ := io.ReadAll(resp.Body); resp.StatusCode != http.StatusOK {
			t.Fatalf("%q was answered %d %s", body, resp.StatusCode, text)
		}
	}
	texts := func(from string, entries ...string) {
		t.Helper()
		for _, text := range entries {
			n++
			body, _ := json.Marshal(map[string]string{"from": from, "text": text, "id": fmt.Sprint("m", n)})
			post("valley-sms", "application/json", string(body))
		}
	}
	keys := func(from string, entries ...string) {
		t.Helper()
		for _, text := range entries {
			n++
			form := url.Values{"msisdn": {from}, "input": {text}, "sid": {"s1"}, "mid": {fmt.Sprint(n)}}
			post("valley-ussd", "application/x-www-form-urlencoded", form.Encode())
		}
	}
	texts(coordinator, "hello", "1")
	texts(number, "hello", "1", name+", Weir", "3")
	texts(number, "M 19.1 19.2 19.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 10 mouldy", "menu")
	keys(number, "", "1", "7", "00") // begun and left
	carrier.await(t, "Alert: mould", name)
	before := everywhere(t, s, name, number)
	if before["threshline.db"] == 0 || before["threshline.journal"] == 0 {
		t.Fatalf("before she leaves there is nothing to find: %v", before)
	}
	texts(number, "forget me", "1")
	carrier.await(t, "Your name and number are removed")
	do("compact", "--at", at, "--token-file", token)
	backup := filepath.Join(s.dir, "hot.db")
	do("backup", "--config", s.config(), "--to", backup, "--at", at, "--token", "file:"+token)
	for _, format := range []string{"csv", "jsonl", "xlsx"} {
		do("export", "--at", at, "--token-file", token, "--identified", "--format", format, "--out", filepath.Join(s.dir, "export."+format))
	}
	if data, err := os.ReadFile(filepath.Join(s.dir, "export.jsonl")); err != nil || !bytes.Contains(data, []byte("mould")) {
		t.Errorf("her check is not in the export: %v %s", err, data)
	}
	for where, count := range everywhere(t, s, name, number) {
		if count > 0 {
			t.Errorf("while it runs: %d times in %s", count, where)
		}
	}
	run.stop(t)
	do("backup", "--config", s.config(), "--to", filepath.Join(s.dir, "cold.db"))
	do("compact", "--stopped", s.store())
	for where, count := range everywhere(t, s, name, number) {
		if count > 0 {
			t.Errorf("at rest: %d times in %s", count, where)
		}
	}
	if log := s.log.String() + s.said.String(); strings.Contains(log, name) || strings.Contains(log, number[1:]) || log == "" {
		t.Error("the log holds her name or number")
	}
}

// everywhere counts a name and a number, with and without its plus, in the raw
// bytes of all files of a site, which nobody but their owner may read.
func everywhere(t *testing.T, s *site, name, number string) map[string]int {
	t.Helper()
	found := map[string]int{}
	err := filepath.WalkDir(s.dir, func(path string, entry os.DirEntry, err error) error {
		if err != nil || !entry.Type().IsRegular() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if pack, err := zip.NewReader(bytes.NewReader(data), int64(len(data))); err == nil { // a spreadsheet
			for _, part := range pack.File {
				text, err := fs.ReadFile(pack, part.Name)
				if err != nil {
					return err
				}
				data = append(data, text...)
			}
		}
		if info, err := entry.Info(); err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("others may read %s: %v, %v", path, info.Mode(), err)
		}
		at, _ := filepath.Rel(s.dir, path)
		found[at] = bytes.Count(data, []byte(name)) + bytes.Count(data, []byte(number[1:]))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// copies is a carrier that keeps what it is handed.
type copies struct {
	mu   sync.Mutex
	seen []string
	came chan struct{} // closed, and made anew, when another comes
}

func (c *copies) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	c.mu.Lock()
	defer c.mu.Unlock()
	c.seen = append(c.seen, string(body))
	close(c.came)
	c.came = make(chan struct{})
	fmt.Fprintf(w, `{"id":"c-%d"}`, len(c.seen))
}

// await waits for a message that holds all the words.
func (c *copies) await(t *testing.T, words ...string) {
	t.Helper()
	lacks := func(text string) bool {
		return slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, word) })
	}
	for over := time.After(patience); ; {
		c.mu.Lock()
		seen, came := slices.Clone(c.seen), c.came
		c.mu.Unlock()
		if slices.ContainsFunc(seen, func(text string) bool { return !lacks(text) }) {
			return
		}
		select {
		case <-came:
		case <-over:
			t.Fatalf("no message with %q came: %q", words, seen)
		}
	}
}
