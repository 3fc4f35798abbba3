package main

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// dial opens a bare connection to a run.
func (c *child) dial(t *testing.T) net.Conn {
	t.Helper()
	conn, err := c.redial(t)
	if err != nil {
		t.Fatal(err)
	}
	return conn
}

// redial is dial for any goroutine.
func (c *child) redial(t *testing.T) (net.Conn, error) {
	conn, err := net.Dial("tcp", c.address)
	if err != nil {
		return nil, err
	}
	t.Cleanup(func() { _ = conn.Close() })
	return conn, conn.SetDeadline(time.Now().Add(patience))
}

// rawMessage is a request as a carrier sends it.
func rawMessage(number int, id string) string {
	body := fmt.Sprintf("msisdn=%%2B3363998%04d&input=&sid=s%d&mid=%s", number, number, id)
	return fmt.Sprintf("POST /in/valley-ussd HTTP/1.1\r\nHost: gateway.example\r\nX-Token: %s\r\n"+
		"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n\r\n%s", valleyToken, len(body), body)
}

// fewDescriptors leaves the program fewer descriptors than it has visitors:
// it goes on when they leave.
func fewDescriptors(t *testing.T, p program) {
	s, town, phones := inhabit(t, p, 10)
	run := s.start(t, "-n 60")
	run.ready(t)
	town.move(run.address)
	town.answered(50)
	var idle []net.Conn
	for range 200 {
		idle = append(idle, run.dial(t))
	}
	// The phones' own connections are open: they go on, what comes new waits.
	town.answered(50)
	for _, conn := range idle {
		_ = conn.Close()
	}
	town.answered(50)
	if status, text := run.get(t, "/readyz"); status != http.StatusOK {
		t.Errorf("after the crowd has left: %d %s", status, text)
	}
	finish(t, s, town, run, phones)
}

// slowVisitors hold connections without saying what they want: each is shown
// out, and nobody else waits for them.
func slowVisitors(t *testing.T, p program) {
	s, town, phones := inhabit(t, p, 10)
	run := s.start(t)
	run.ready(t)
	whole := rawMessage(9998, "slow")
	var all sync.WaitGroup
	for _, part := range []string{
		"", "POST /in/valley-ussd HTTP/1.1\r\nHost:", // half-open, half a head
		whole[:len(whole)-10], // half a body
	} {
		for range 30 {
			conn := run.dial(t)
			all.Go(func() {
				if _, err := io.WriteString(conn, part); err != nil {
					t.Error(err)
					return
				}
				// Returns when the program gives up; an answer that it is too slow is fine.
				answer, err := io.ReadAll(conn)
				if err != nil || strings.Contains(string(answer), "200 OK") {
					t.Errorf("a slow visitor got %q, %v", answer, err)
				}
			})
		}
	}
	town.move(run.address)
	town.answered(300)
	town.move("") // the visitors have seconds left: enough was said beside them
	all.Wait()
	town.move(run.address)
	finish(t, s, town, run, phones)
}

// TestTheProgramHoldsThousandsOfConnections keeps them open, each of which brings a
// phone's messages. It runs beside no other test: it takes nearly all the files
// that this process may open.
func TestTheProgramHoldsThousandsOfConnections(t *testing.T) {
	n := connectionsAllowed(t)
	s := newSite(t, buildProgram(t), "127.0.0.1:1")
	run := s.start(t)
	run.ready(t)
	conns := make([]net.Conn, n)
	var again atomic.Int64
	for i := range conns {
		conns[i] = run.dial(t)
	}
	for round, step := range []int{1, 10} { // all of them, then some that were open meanwhile
		var all sync.WaitGroup
		for worker := range 32 {
			all.Go(func() {
				for i := worker * step; i < n; i += 32 * step {
					id := fmt.Sprintf("m-%d-%d", i, round)
					if say(conns[i], i, id) == nil {
						continue
					}
					// On a slow machine a connection may have idled for longer than
					// the program lets it: a carrier then delivers over a new one.
					again.Add(1)
					_ = conns[i].Close() // it counts as open until then
					conn, err := run.redial(t)
					if err == nil {
						conns[i], err = conn, say(conn, i, id)
					}
					if err != nil {
						t.Errorf("connection %d, message %d: %v", i, round+1, err)
						return
					}
				}
			})
		}
		all.Wait()
	}
	t.Logf("%d connections at once, %d messages over a second connection", n, again.Load())
	run.stop(t)
}

// say sends one message over an open connection and wants its answer.
func say(conn net.Conn, number int, id string) error {
	if _, err := io.WriteString(conn, rawMessage(number, id)); err != nil {
		return err
	}
	resp, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK || !strings.Contains(string(body), "may we keep your number") {
		return fmt.Errorf("%s %q %v", resp.Status, body, err)
	}
	return nil
}
