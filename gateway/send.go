package gateway

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"time"

	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
)

// maxAnswer is the most bytes that we read of a carrier's answer to a call.
const maxAnswer = 64 << 10

// courier hands messages on by calls: the dispatch.Carrier of a channel.
type courier struct {
	channel *carrier.Channel
	client  *http.Client // see NewClient
	now     func() time.Time
}

// NewClient makes a client for calls to carriers. It follows no redirect: a
// message goes where the configuration says and nowhere else.
func NewClient() *http.Client {
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.MaxIdleConnsPerHost = 64
	transport.ResponseHeaderTimeout = 30 * time.Second
	transport.MaxResponseHeaderBytes = maxHeaderBytes
	return &http.Client{
		Transport:     transport,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// OutletOf is a configured channel as the worker hands messages to it; false if it
// cannot send.
func OutletOf(c *carrier.Channel, client *http.Client, now func() time.Time) (dispatch.Outlet, bool) {
	if !c.CanSend() {
		return dispatch.Outlet{}, false
	}
	send := c.Config().Send
	return dispatch.Outlet{
		Name: c.Name(), Carrier: courier{c, client, now},
		PerSecond: send.PerSecond, Parallel: send.Parallel, PerSegment: send.PerSegment, DailyLimit: send.DailyLimit,
		Segments: func(text string) int { _, n := c.Cost(text); return n },
		Reaches:  c.CanAnswer,
	}, true
}

// Hand implements dispatch.Carrier.
func (w courier) Hand(ctx context.Context, o session.Outgoing) (carrierID string, err error) {
	ctx, cancel := context.WithTimeout(ctx, w.channel.SendTimeout())
	defer cancel()
	request, err := w.channel.Call(ctx, o, w.now())
	if err != nil {
		return "", &dispatch.Refusal{Final: true, Problem: callProblem(err)}
	}
	response, err := w.client.Do(request)
	if err != nil {
		if dial, ok := errors.AsType[*net.OpError](err); ok && dial.Op == "dial" {
			return "", &dispatch.Refusal{Problem: "the carrier cannot be reached"}
		}
		// Nobody knows whether the carrier took it. The error's text has the address
		// of the call, and maybe the number in it: it must not leave this function.
		return "", errNoAnswer
	}
	defer response.Body.Close()
	body, err := io.ReadAll(io.LimitReader(response.Body, maxAnswer))
	if err != nil {
		return "", errNoAnswer
	}
	result := w.channel.Understand(response.StatusCode, response.Header, body, w.now())
	if !result.OK {
		return "", &dispatch.Refusal{Final: result.Final, Slow: result.Slow, After: result.RetryAfter, Problem: result.Problem}
	}
	return result.CarrierID, nil
}

var errNoAnswer = errors.New("gateway: no whole answer from the carrier")

// callProblem says why a call could not be made, without a number or a secret.
func callProblem(err error) string {
	if errors.Is(err, carrier.ErrNumberRange) {
		return "number range that this channel does not send to"
	}
	return masked(err.Error())
}
