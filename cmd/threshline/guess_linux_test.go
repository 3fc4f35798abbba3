package main

import (
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// guessers is how many guess at once, each time from another address.
const guessers = 60

// BenchmarkExchangesWhileSomebodyGuesses measures one phone's exchanges with the
// real program, alone and while sixty visitors guess an administrator's password.
func BenchmarkExchangesWhileSomebodyGuesses(b *testing.B) {
	for _, guessed := range []bool{false, true} {
		b.Run(fmt.Sprintf("guessed=%v", guessed), func(b *testing.B) {
			s := newSite(b, buildProgram(b), "127.0.0.1:1", `every = "2s"`, `every = "0s"`, "one_factor = true", "one_factor = true\nproxies = 1")
			run := s.start(b)
			run.ready(b)
			jar, _ := cookiejar.New(nil)
			visitor := &http.Client{Jar: jar}
			resp, err := visitor.PostForm("http://"+run.address+linkOf(b, s), url.Values{"name": {deskName}, "password": {deskPassword}, "again": {deskPassword}})
			if err != nil {
				b.Fatal(err)
			}
			bodyOf(b, resp)
			var over atomic.Bool
			var guesses atomic.Int64
			var all sync.WaitGroup
			for i := range guessers {
				if !guessed {
					break
				}
				all.Go(func() {
					for n := 0; !over.Load(); n++ {
						form := url.Values{"name": {deskName}, "password": {fmt.Sprintf("wrong-%d-%d", i, n)}}
						req, _ := http.NewRequest(http.MethodPost, "http://"+run.address+"/desk/sign-in", strings.NewReader(form.Encode()))
						req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
						req.Header.Set("X-Forwarded-For", fmt.Sprintf("198.51.%d.%d", n%250, i))
						if resp, err := http.DefaultClient.Do(req); err == nil {
							resp.Body.Close()
							guesses.Add(1)
						}
					}
				})
			}
			var times []time.Duration
			began, id := time.Now(), 0
			for b.Loop() {
				id++
				form := url.Values{"msisdn": {"+33639988001"}, "input": {""}, "sid": {fmt.Sprint(id)}, "mid": {fmt.Sprint(id)}}
				req, err := http.NewRequest(http.MethodPost, "http://"+run.address+"/in/valley-ussd", strings.NewReader(form.Encode()))
				if err != nil {
					b.Fatal(err)
				}
				req.Header.Set("X-Token", valleyToken)
				req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				asked := time.Now()
				resp, err := http.DefaultClient.Do(req)
				if err != nil {
					b.Fatal(err)
				}
				bodyOf(b, resp)
				times = append(times, time.Since(asked))
			}
			over.Store(true)
			slices.Sort(times)
			at := func(share float64) float64 {
				return float64(times[int(share*float64(len(times)-1))].Microseconds()) / 1000
			}
			b.ReportMetric(at(0.5), "p50-ms")
			b.ReportMetric(at(0.99), "p99-ms")
			b.ReportMetric(float64(guesses.Load())/time.Since(began).Seconds(), "guesses/s")
			all.Wait()
			run.stop(b)
		})
	}
}
