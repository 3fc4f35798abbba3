// Package talk turns one message into what to store and what to answer: it reads
// no clock and does no input or output, and has no screen of its own.
package talk
