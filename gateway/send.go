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

// Way is how a configured channel hands messages on: the dispatch.Carrier of
// a carrier.Channel.
type Way struct {
	Channel *carrier.Channel
	Client  *http.Client // see NewClient
	Now     func() time.Time
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

// Outgoing is the channel as the worker uses it; false when it cannot send.
func Outgoing(c *carrier.Channel, client *http.Client, now func() time.Time) (dispatch.Channel, bool) {
	if !c.CanSend() {
		return dispatch.Channel{}, false
	}
	send := c.Config().Send
	return dispatch.Channel{
		Name: c.Name(), Carrier: Way{c, client, now},
		PerSecond: send.PerSecond, Parallel: send.Parallel, PerSegment: send.PerSegment, DailyLimit: send.DailyLimit,
		Segments: func(text string) int { _, n := c.Cost(text); return n },
		Reaches:  c.CanAnswer,
	}, true
}

// Hand implements dispatch.Carrier.
func (w Way) Hand(ctx context.Context, o session.Outgoing) (carrierID string, err error) {
	ctx, cancel := context.WithTimeout(ctx, w.Channel.SendTimeout())
	defer cancel()
	request, err := w.Channel.Call(ctx, o, w.Now())
	if err != nil {
		return "", &dispatch.Refusal{Final: true, Problem: callProblem(err)}
	}
	response, err := w.Client.Do(request)
	if err != nil {
		var dial *net.OpError
		if errors.As(err, &dial) && dial.Op == "dial" {
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
	result := w.Channel.Understand(response.StatusCode, response.Header, body, w.Now())
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
