package gateway_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// A phone agrees once, then grades lot after lot. Lots differ in all their
// readings, as those of a season do, so that none is judged from memory alone.
var (
	welcome = []string{"", "1", "1", "1"}
	lot     = []string{"1", "8", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1", "1", "00"}
	lots    = manyLots(97)
)

func manyLots(n int) [][]string {
	all := make([][]string, n)
	for k := range all {
		all[k] = slices.Clone(lot)
		moist, tenth := 128+k*7%19, func(n int) string { return strconv.Itoa(n/10) + "." + strconv.Itoa(n%10) }
		all[k][3] = tenth(moist) + " " + tenth(moist+k%4) + " " + tenth(moist+k*3%5)
		all[k][5] = tenth(8+k*11%31) + " " + tenth(1+k*3%10)
		all[k][6] = tenth(1500+k*13%80) + " " + tenth(4+k*5%21)
		all[k][7] = fmt.Sprint(k%3, k*7%4, k*3%5, k*2%3)
	}
	return all
}

// talker is one phone over one connection. It spends next to nothing itself,
// so that what is measured is the server.
type talker struct {
	number  string
	conn    net.Conn
	in      *bufio.Reader
	out     bytes.Buffer
	step    int
	reply   []byte
	grades  int // replies that told a grade
	entries []string
	next    int // of lots
}

func newTalker(address string, n int) (*talker, error) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return nil, err
	}
	return &talker{
		number: fmt.Sprintf("+3363998%04d", n), conn: conn, in: bufio.NewReader(conn), entries: welcome, next: n,
	}, nil
}

// talk sends the next entry and reads the reply.
func (t *talker) talk() error {
	if t.step == len(t.entries) {
		t.entries, t.step = lots[t.next%len(lots)], 0
		t.next++
	}
	event := "typed"
	if t.entries[t.step] == "" {
		event = "opened"
	}
	body := "msisdn=" + url.QueryEscape(t.number) + "&input=" + url.QueryEscape(t.entries[t.step]) +
		"&sid=s" + t.number[1:] + "&mid=" + strconv.FormatUint(messages.Add(1), 36) + "&news=" + event
	t.step++
	t.out.Reset()
	fmt.Fprintf(&t.out, "POST /in/valley-ussd HTTP/1.1\r\nHost: gateway.example\r\nX-Token: valley-token-for-tests\r\n"+
		"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n\r\n%s", len(body), body)
	if _, err := t.conn.Write(t.out.Bytes()); err != nil {
		return err
	}
	if err := t.read(); err != nil {
		return err
	}
	if bytes.HasPrefix(t.reply, []byte("Grade ")) || bytes.HasPrefix(t.reply, []byte("Out of grade")) {
		t.grades++
	}
	return nil
}

// messages numbers the messages of all talkers.
var messages atomic.Uint64

// read reads one response with a Content-Length.
func (t *talker) read() error {
	status, err := t.in.ReadSlice('\n')
	if err != nil {
		return err
	}
	ok := bytes.HasPrefix(status, []byte("HTTP/1.1 200 "))
	problem := string(status)
	length := 0
	for {
		line, err := t.in.ReadSlice('\n')
		if err != nil {
			return err
		}
		if len(line) <= 2 {
			break
		}
		if value, found := bytes.CutPrefix(line, []byte("Content-Length: ")); found {
			if length, err = strconv.Atoi(string(bytes.TrimSpace(value))); err != nil {
				return err
			}
		}
	}
	t.reply = slices.Grow(t.reply[:0], length)[:length]
	for read := 0; read < length; {
		n, err := t.in.Read(t.reply[read:])
		if err != nil {
			return err
		}
		read += n
	}
	if !ok {
		return errors.New(strings.TrimSpace(problem) + ": " + string(t.reply))
	}
	return nil
}

// fleet is many talkers at one server.
type fleet struct{ talkers []*talker }

// serve starts a handler as the gateway is served and dials it n times.
func serve(tb testing.TB, server *http.Server, n int) *fleet {
	tb.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		tb.Fatal(err)
	}
	server.IdleTimeout = time.Hour // one fleet waits while the other works
	go func() { _ = server.Serve(listener) }()
	tb.Cleanup(func() { _ = server.Close() })
	f := &fleet{}
	for i := range n {
		t, err := newTalker(listener.Addr().String(), i)
		if err != nil {
			tb.Fatal(err)
		}
		tb.Cleanup(func() { _ = t.conn.Close() })
		f.talkers = append(f.talkers, t)
	}
	return f
}

// all has the talkers share total messages, each sending its next as soon as
// it has its reply, and returns how long that took.
func (f *fleet) all(tb testing.TB, total int) time.Duration {
	tb.Helper()
	begin := time.Now()
	f.share(tb, total, func(t *talker, _ int) error { return t.talk() })
	return time.Since(begin)
}

// paced sends total messages at a rate, whatever the server does, and returns
// how long each took from when it should have been sent, shortest first.
func (f *fleet) paced(tb testing.TB, total int, rate float64) []time.Duration {
	tb.Helper()
	took := make([]time.Duration, total)
	begin := time.Now()
	f.share(tb, total, func(t *talker, i int) error {
		due := begin.Add(time.Duration(float64(i) / rate * float64(time.Second)))
		time.Sleep(time.Until(due))
		err := t.talk()
		took[i] = time.Since(due)
		return err
	})
	slices.Sort(took)
	return took
}

func (f *fleet) share(tb testing.TB, total int, do func(t *talker, i int) error) {
	tb.Helper()
	var next atomic.Int64
	var all sync.WaitGroup
	var failed sync.Once
	for _, t := range f.talkers {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < total; i = int(next.Add(1)) - 1 {
				if err := do(t, i); err != nil {
					failed.Do(func() { tb.Error(err) })
					next.Store(int64(total))
					return
				}
			}
		})
	}
	all.Wait()
	if tb.Failed() {
		tb.FailNow()
	}
}

// quantile is a value below which a share of the sorted times lies.
func quantile(sorted []time.Duration, share float64) time.Duration {
	return sorted[min(len(sorted)-1, int(share*float64(len(sorted))))]
}
