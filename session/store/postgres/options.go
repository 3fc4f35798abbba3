package postgres

import (
	"runtime"
	"time"
)

// Options are what an operator may set. The zero value is good for use.
type Options struct {
	// Schema is where the tables lie; empty is "threshline".
	Schema string
	// KeepSent is how long a message that needs nothing more is kept for the
	// desk, counted from its last change; 0 is 30 days.
	KeepSent time.Duration
	// Connections bounds how many connections are open; 0 is four times the
	// processors, at least 16.
	Connections int
	// Waiting bounds how many exchanges may wait to be read or written; more are
	// turned away with session.ErrBusy. 0 is 4096.
	Waiting int
	// Statement, Lock and Idle bound how long the database works on one
	// statement, waits for a lock, and bears with a transaction in which nothing
	// happens. 0 is 5, 3 and 10 seconds.
	Statement, Lock, Idle time.Duration
	// Answer bounds how long an answer of the database is waited for before the
	// connection is given up; 0 is twice Statement.
	Answer time.Duration
	// Holder names this gateway among those that share the database, in leases;
	// empty is the machine's name and the process's number.
	Holder string
	// Journal is the path of a second, plain file of all checks and people; none
	// is kept when it is empty. Each gateway has its own.
	Journal string
	// CallersClock has messages come due by the time that Claim is given, not by
	// the database's clock: for simulations.
	CallersClock bool
	// Woken is called when another gateway has filed checks; it must not block.
	// May be nil.
	Woken func()
}

func (o Options) withDefaults() Options {
	if o.Schema == "" {
		o.Schema = "threshline"
	}
	if o.KeepSent <= 0 {
		o.KeepSent = 30 * 24 * time.Hour
	}
	if o.Connections <= 0 {
		o.Connections = max(16, 4*runtime.GOMAXPROCS(0))
	}
	if o.Waiting <= 0 {
		o.Waiting = 4096
	}
	if o.Statement <= 0 {
		o.Statement = 5 * time.Second
	}
	if o.Lock <= 0 {
		o.Lock = 3 * time.Second
	}
	if o.Idle <= 0 {
		o.Idle = 10 * time.Second
	}
	if o.Answer <= 0 {
		o.Answer = 2 * o.Statement
	}
	if o.Holder == "" {
		o.Holder = holder()
	}
	return o
}
