package main

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/gateway/desk/paper"
)

// BenchmarkDesk serves a season from the real program and opens every page of
// the desk over it. It says how long the program takes from its start to its
// first answer and to the first page with all of its checks, and how long each page
// and export takes when it is asked for. It also says how much memory it held at most
// by then, until the season's what-if was ready, and while each page was made: its own
// memory, and all with what the kernel keeps of the store's file, which it takes back
// when somebody needs it.
func BenchmarkDesk(b *testing.B) {
	binary := filepath.Join(b.TempDir(), "threshline")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, out)
	}
	for _, n := range []int{1_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("checks=%d", n), func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				s := &site{program: program{binary}, dir: b.TempDir()}
				s.configure(b, strings.Replace(string(demo.Config), "127.0.0.1:8080", "127.0.0.1:0", 1))
				fileMany(b, s, n)
				b.StartTimer()
				lookAround(b, s, n)
			}
		})
	}
}

// fileMany makes a site's store with n checks.
func fileMany(b *testing.B, site *site, n int) {
	b.Helper()
	cfg, err := config.Load(site.config())
	if err != nil {
		b.Fatal(err)
	}
	s, err := openStation(cfg, site.store(), zerolog.Nop())
	if err != nil {
		b.Fatal(err)
	}
	defer s.close()
	if err := demo.Fill(b.Context(), s.store, s.programme, seasonsEnd, n, func(int) {}); err != nil {
		b.Fatal(err)
	}
}

// lookAround starts the program, signs in and opens every page, until none has
// to be waited for.
func lookAround(b *testing.B, s *site, n int) {
	b.Helper()
	began := time.Now()
	run := s.start(b)
	run.ready(b)
	b.ReportMetric(float64(time.Since(began).Milliseconds()), "ms-first-answer")
	watch := watchMemory(b, run.cmd.Process.Pid)
	defer watch.end()
	jar, err := cookiejar.New(nil)
	if err != nil {
		b.Fatal(err)
	}
	visitor := &http.Client{Jar: jar} // an export of a million takes minutes
	get := func(path string) string {
		resp, err := visitor.Get("http://" + run.address + path)
		if err != nil {
			b.Fatal(err)
		}
		return bodyOf(b, resp)
	}
	link := linkOf(b, s)
	resp, err := visitor.PostForm("http://"+run.address+link, url.Values{"name": {deskName}, "password": {deskPassword}, "again": {deskPassword}})
	if err != nil {
		b.Fatal(err)
	}
	bodyOf(b, resp)
	for !strings.Contains(get("/desk/grades"), paper.Count(n)+"\u202fchecks") {
		<-time.After(100 * time.Millisecond)
	}
	b.ReportMetric(float64(time.Since(began).Milliseconds()), "ms-all-checks")
	watch.report("loaded")
	for strings.Contains(get("/desk/what-if"), "being reckoned") {
		<-time.After(500 * time.Millisecond)
	}
	b.ReportMetric(float64(time.Since(began).Milliseconds()), "ms-what-if")
	watch.report("what-if")
	for name, path := range map[string]string{
		"season": "/desk/", "flags": "/desk/findings", "lots": "/desk/lots", "grades": "/desk/grades?district=Kisima", "limits": "/desk/limits?kind=last",
		"districts": "/desk/districts?grade=Grade+2", "what-if-district": "/desk/what-if?district=Korongo", "what-if-held": "/desk/what-if?deciding=moisture",
		"report": "/desk/report", "export": "/desk/export/file?format=csv", "sheets": "/desk/export/file?format=xlsx",
	} {
		asked := time.Now()
		get(path)
		b.ReportMetric(float64(time.Since(asked).Milliseconds()), "ms-"+name)
		for strings.Contains(get(path), "being reckoned") {
			<-time.After(100 * time.Millisecond)
		}
		watch.report(name)
	}
	run.stop(b)
}

// linkOf is a link for the first administrator, from the machine itself.
func linkOf(b *testing.B, s *site) string {
	b.Helper()
	var said bytes.Buffer
	cmd := accessLinkCmd{Config: s.config()}
	if err := cmd.Run(b.Context(), stdio{out: &said}); err != nil {
		b.Fatal(err)
	}
	return said.String()[strings.Index(said.String(), "/desk/link/"):strings.Index(said.String(), "\n")]
}

func bodyOf(b *testing.B, resp *http.Response) string {
	b.Helper()
	defer resp.Body.Close()
	var body bytes.Buffer
	if _, err := io.Copy(&body, resp.Body); err != nil || resp.StatusCode != http.StatusOK {
		b.Fatalf("%s: %s, %v", resp.Request.URL, resp.Status, err)
	}
	return body.String()
}

// memoryWatch looks at a process's memory again and again.
type memoryWatch struct {
	b        *testing.B
	pid      int
	stop     chan struct{}
	all      sync.WaitGroup
	mu       sync.Mutex
	own, any float64 // most since the last report, MiB
}

func watchMemory(b *testing.B, pid int) *memoryWatch {
	w := &memoryWatch{b: b, pid: pid, stop: make(chan struct{})}
	ticker := time.NewTicker(5 * time.Millisecond)
	w.all.Go(func() {
		defer ticker.Stop()
		for {
			select {
			case <-w.stop:
				return
			case <-ticker.C:
			}
			w.mu.Lock()
			w.look()
			w.mu.Unlock()
		}
	})
	return w
}

func (w *memoryWatch) look() {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", w.pid))
	if err == nil {
		w.own, w.any = max(w.own, mebibytes(status, "RssAnon")), max(w.any, mebibytes(status, "VmRSS"))
	}
}

func (w *memoryWatch) end() {
	close(w.stop)
	w.all.Wait()
}

// report tells what was held at most since the last report.
func (w *memoryWatch) report(name string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.look()
	w.b.ReportMetric(w.own, "MiB-own-"+name)
	w.b.ReportMetric(w.any, "MiB-all-"+name)
	w.own, w.any = 0, 0
}

func mebibytes(status []byte, figure string) float64 {
	for line := range bytes.Lines(status) {
		if rest, ok := bytes.CutPrefix(line, []byte(figure+":")); ok && len(bytes.Fields(rest)) > 0 {
			kib, err := strconv.ParseFloat(string(bytes.Fields(rest)[0]), 64)
			if err == nil {
				return kib / 1024
			}
		}
	}
	return 0
}
