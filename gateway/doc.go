// Package gateway is the HTTP edge: it takes a carrier's request, lets the
// dialogue turn, and answers. It decides nothing about paddy and keeps
// nothing of its own: whatever is acknowledged was stored first, together
// with the reply and the key by which a redelivery is recognised.
package gateway
