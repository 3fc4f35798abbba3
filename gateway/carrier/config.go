package carrier

import (
	"fmt"
	"time"

	"threshline/session"
)

// Config is one [[channel]] of the configuration file.
type Config struct {
	Name string       `toml:"name"` // answers at /in/NAME
	Kind session.Kind `toml:"kind"`
	// Budget is the septets that a reply may hold; 0 is 160.
	Budget int `toml:"budget"`
	// Region reads local numbers, an ISO 3166 code; empty is the programme's.
	Region string `toml:"region"`
	// UCS2 lets letters outside the GSM alphabet through, at their price;
	// otherwise they are folded to plain ones.
	UCS2 bool `toml:"ucs2"`
	// AllowPrefixes are the only number ranges that are sent to, such as
	// "+3363998". With none, valid mobile numbers of the region.
	AllowPrefixes []string `toml:"allow_prefixes"`
	// Busy is shown instead of an error when the gateway is too busy.
	Busy string `toml:"busy"`
	// QuietLimit answers a phone over its limit with nothing instead of 429.
	QuietLimit bool `toml:"quiet_limit"`
	// ResendWindow takes the same text of the same phone within it as a redelivery, if
	// the carrier gives no message id; 0 never does.
	ResendWindow Duration `toml:"resend_window"`

	Read    ReadConfig     `toml:"read"`
	Reply   ReplyConfig    `toml:"reply"`
	Guard   GuardConfig    `toml:"guard"`
	Send    *SendConfig    `toml:"send"`
	Receipt *ReceiptConfig `toml:"receipt"`
}

// ReadConfig says where a request holds each field. A place is form:NAME,
// query:NAME, header:NAME, json:/POINTER, top:/POINTER, xml:XPATH, path:N (the
// n-th segment after the channel's name) or const:TEXT.
type ReadConfig struct {
	From    string `toml:"from"`
	Text    string `toml:"text"`
	Session string `toml:"session"`
	Message string `toml:"message"`
	// Optional names the fields that a request may lack.
	Optional []string `toml:"optional"`

	// Event is where the carrier says what happened to the session, and the
	// lists are its words for it; a list left out is our own word.
	Event    string   `toml:"event"`
	Start    []string `toml:"start"`
	Continue []string `toml:"continue"`
	End      []string `toml:"end"`
	Timeout  []string `toml:"timeout"`

	// Dialogue is "latest" (the default), or "whole": every input of the
	// session so far, joined by Separator, "*" when not given.
	Dialogue  string `toml:"dialogue"`
	Separator string `toml:"separator"`

	// Each is where the messages of a batch stand: json:/POINTER to an array, or
	// xml:XPATH. The other places are then inside one message; top:/POINTER
	// still reads the whole document.
	Each string `toml:"each"`

	// Charset of the body: "utf-8", "us-ascii", "iso-8859-1", "iso-8859-15",
	// "windows-1252", "utf-16be" or "utf-16le"; empty is what the Content-Type
	// says, else UTF-8, else windows-1252.
	Charset string `toml:"charset"`
	// TextCoding is "plain" (the default) or "ucs2-hex"; where it differs by
	// message, Coding is the place that tells and UCS2 its values for hex.
	TextCoding string   `toml:"text_coding"`
	Coding     string   `toml:"coding"`
	UCS2       []string `toml:"ucs2"`

	// Numbers is "auto" (the default), "international" (with or without plus)
	// or "local" (without a plus, a number is of the region).
	Numbers string   `toml:"numbers"`
	Methods []string `toml:"methods"`  // GET and POST when empty
	MaxBody int      `toml:"max_body"` // bytes; 0 is 65,536
}

// ReplyConfig is how the answer to a request looks. Body, Status and Headers
// are templates where they are texts.
type ReplyConfig struct {
	// Via is "response" (the default), or "send": the answer goes out as a
	// message of its own and Body is only what acknowledges the request.
	Via         string            `toml:"via"`
	Status      int               `toml:"status"` // 0 is 200
	ContentType string            `toml:"content_type"`
	Body        string            `toml:"body"`
	Headers     map[string]string `toml:"headers"`
	// SilentStatus and SilentBody answer what gets no reply, such as the news that a
	// session ended; 0 is Status.
	SilentStatus int    `toml:"silent_status"`
	SilentBody   string `toml:"silent_body"`
}

// GuardConfig is who may send. All guards that are given must agree; at least one is
// needed unless Open is written out.
type GuardConfig struct {
	Open bool `toml:"open"`
	// Token is a secret (env:NAME or file:PATH) that stands at TokenAt after
	// TokenPrefix, such as "Bearer ".
	Token       string `toml:"token"`
	TokenAt     string `toml:"token_at"`
	TokenPrefix string `toml:"token_prefix"`
	// User and Password (a secret) of HTTP basic authentication.
	User     string `toml:"user"`
	Password string `toml:"password"`
	// Signature is an HMAC-SHA256 over the request.
	Signature *SignatureConfig `toml:"signature"`
	// Allow are the address ranges that requests come from, behind the number
	// of Proxies of ours that set X-Forwarded-For.
	Allow   []string `toml:"allow"`
	Proxies int      `toml:"proxies"`
}

// SignatureConfig is an HMAC-SHA256, checked or made.
type SignatureConfig struct {
	// Form is "own" (the default), or "standard-webhooks": Standard Webhooks
	// 1.0.0, where everything else but Secret and Tolerance is settled.
	Form string `toml:"form"`
	// Secret are secrets (env:NAME or file:PATH): any may have signed, and the
	// first signs. After "whsec_" or "base64:" the value is base64.
	Secret []string `toml:"secret"`
	// At is where the signature stands, after Prefix, in Encoding: "hex" (the
	// default) or "base64".
	At       string `toml:"at"`
	Prefix   string `toml:"prefix"`
	Encoding string `toml:"encoding"`
	// Over is a template of what is signed: .Timestamp .ID .Body .Method .Path
	// .Query and {{.Header.Get "X-Name"}}.
	Over string `toml:"over"`
	// TimestampAt is where the time stands, in TimestampUnit: "s" (the default)
	// or "ms" since 1970. IDAt is where an id stands, if one is signed.
	TimestampAt   string `toml:"timestamp_at"`
	TimestampUnit string `toml:"timestamp_unit"`
	IDAt          string `toml:"id_at"`
	// Tolerance is how far the time may be off, either way; 0 is 5 minutes.
	Tolerance Duration `toml:"tolerance"`
	// Identical is what becomes of the very same request when it comes again:
	// "pass", where the store knows it by a signed message id and answers as
	// before, so that a carrier may deliver again; else "refuse". Empty is the
	// first of these that the channel can do. Undated allows a signature over
	// no time, where "pass" would be possible.
	Identical string `toml:"identical"`
	Undated   bool   `toml:"undated"`
}

// SendConfig is how an outgoing message is handed over. URL, Body and Headers
// are templates: .To .Text .ID .Sender .Segments, .Wide (the text needs UCS-2)
// and, in Body alone, .Token.
type SendConfig struct {
	URL         string            `toml:"url"`
	Insecure    bool              `toml:"insecure"` // allows http: to other machines
	Method      string            `toml:"method"`   // POST when empty
	ContentType string            `toml:"content_type"`
	Headers     map[string]string `toml:"headers"`
	Body        string            `toml:"body"`
	Sender      string            `toml:"sender"`
	Timeout     Duration          `toml:"timeout"` // 0 is 15 s

	// Token is a secret that goes to TokenAt (header: or query:) after
	// TokenPrefix, or into Body where that has .Token.
	Token       string           `toml:"token"`
	TokenAt     string           `toml:"token_at"`
	TokenPrefix string           `toml:"token_prefix"`
	User        string           `toml:"user"`
	Password    string           `toml:"password"` // a secret
	Signature   *SignatureConfig `toml:"signature"`

	// OKStatus are the statuses of success; 200 to 299 if empty. If the answer itself
	// tells, OK is the place and OKValues are its words for success.
	OKStatus []int    `toml:"ok_status"`
	OK       string   `toml:"ok"`
	OKValues []string `toml:"ok_values"`
	// Final are words at OK after which trying again is of no use. FinalStatus are such
	// statuses; if empty, 400 to 499 without 401, 403, 408, 409, 423, 425 and 429.
	Final       []string `toml:"final"`
	FinalStatus []int    `toml:"final_status"`
	ID          string   `toml:"id"` // the carrier's id of the message

	PerSegment float64 `toml:"per_segment"` // cost, in the programme's currency
	DailyLimit float64 `toml:"daily_limit"` // likewise; 0 is none
	PerSecond  float64 `toml:"per_second"`  // messages; 0 is no limit
	Parallel   int     `toml:"parallel"`    // messages on their way at once, at most 64; 0 is 4
}

// ReceiptConfig is where a delivery receipt holds its fields.
type ReceiptConfig struct {
	ID        string   `toml:"id"`
	State     string   `toml:"state"`
	Delivered []string `toml:"delivered"`
	Failed    []string `toml:"failed"`
	Each      string   `toml:"each"`
	// Reply is what acknowledges receipts; empty is "ok".
	Reply string `toml:"reply"`
}

// Duration reads Go's notation, such as "30s" or "5m".
type Duration time.Duration

// UnmarshalText implements [encoding.TextUnmarshaler].
func (d *Duration) UnmarshalText(b []byte) error {
	v, err := time.ParseDuration(string(b))
	if err != nil || v < 0 {
		return fmt.Errorf("want a duration such as \"30s\" or \"5m\", got %q", b)
	}
	*d = Duration(v)
	return nil
}
