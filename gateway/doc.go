// Package gateway is the HTTP edge: it takes a carrier's request, lets the
// dialogue turn, and answers.
//
// It decides nothing about paddy and stores nothing of its own. A message is
// acknowledged only after it was stored, together with the reply and the key by
// which a redelivery is recognised.
package gateway
