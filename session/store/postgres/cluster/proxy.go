package cluster

import (
	"io"
	"net"
	"sync"
	"testing"
)

// Proxy stands between a program and a server, and can be told to fail as a
// network does.
type Proxy struct {
	to       string
	listener net.Listener

	mu    sync.Mutex
	conns map[net.Conn]bool
	state state
}

// state is what a proxy does with what comes in.
type state int

const (
	passes state = iota
	silent       // takes everything and passes nothing on, as a cut cable
	mute         // passes on what is asked, and nothing of what is answered
)

// NewProxy starts a proxy to an address.
func NewProxy(t testing.TB, to string) *Proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &Proxy{to: to, listener: l, conns: make(map[net.Conn]bool)}
	var all sync.WaitGroup
	all.Go(func() { p.serve(&all) })
	t.Cleanup(func() {
		l.Close()
		p.Break()
		all.Wait()
	})
	return p
}

// Address is where the proxy listens.
func (p *Proxy) Address() string { return p.listener.Addr().String() }

// Cut lets nothing through, without telling anybody.
func (p *Proxy) Cut() { p.become(silent) }

// LoseAnswers lets questions through, and no answer.
func (p *Proxy) LoseAnswers() { p.become(mute) }

// Mend lets everything through again, on new connections.
func (p *Proxy) Mend() {
	p.become(passes)
	p.Break()
}

// Break closes all connections.
func (p *Proxy) Break() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		c.Close()
	}
	clear(p.conns)
}

func (p *Proxy) become(s state) {
	p.mu.Lock()
	p.state = s
	p.mu.Unlock()
}

// lets reports whether something passes: a question, or an answer.
func (p *Proxy) lets(question bool) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.state == passes || p.state == mute && question
}

func (p *Proxy) keep(c net.Conn) {
	p.mu.Lock()
	p.conns[c] = true
	p.mu.Unlock()
}

func (p *Proxy) serve(all *sync.WaitGroup) {
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return
		}
		p.keep(client)
		all.Go(func() {
			server, err := net.Dial("tcp", p.to)
			if err != nil {
				client.Close()
				return
			}
			p.keep(server)
			all.Go(func() { p.pass(client, server, false) })
			p.pass(server, client, true)
		})
	}
}

// pass copies from one side to the other until either ends.
func (p *Proxy) pass(to, from net.Conn, question bool) {
	defer to.Close()
	defer from.Close()
	_, _ = io.Copy(writer(func(b []byte) (int, error) {
		if !p.lets(question) {
			return len(b), nil
		}
		return to.Write(b)
	}), from)
}

type writer func([]byte) (int, error)

func (w writer) Write(b []byte) (int, error) { return w(b) }
