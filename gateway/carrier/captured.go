package carrier

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
)

// ParseCaptured reads a request as a tool or a log wrote it down: raw HTTP, with either
// kind of line end, and with or without a Content-Length. If the length given is longer
// than the body, it says so.
func ParseCaptured(raw []byte) (*Request, error) {
	head, body := cutHead(raw)
	head = strings.ReplaceAll(strings.ReplaceAll(head, "\r\n", "\n"), "\n", "\r\n")
	r, err := http.ReadRequest(bufio.NewReader(io.MultiReader(strings.NewReader(head+"\r\n\r\n"), bytes.NewReader(body))))
	if err != nil {
		return nil, fmt.Errorf("carrier: this is not a raw HTTP request (want a line such as \"POST /in/name HTTP/1.1\", headers, an empty line, the body): %v", cause(err))
	}
	switch stated := r.Header.Get("Content-Length"); {
	case len(r.TransferEncoding) > 0:
		if body, err = io.ReadAll(io.LimitReader(r.Body, 1<<20)); err != nil {
			return nil, fmt.Errorf("carrier: the chunks of the body cannot be read: %v", err)
		}
	case stated != "":
		n, err := strconv.Atoi(stated)
		if err != nil || n < 0 || n > len(body) {
			return nil, fmt.Errorf("carrier: Content-Length is %s, but %d bytes of body follow: the capture is cut off", stated, len(body))
		}
		body = body[:n] // an editor may have added a line end
	}
	return &Request{Method: r.Method, URL: r.URL, Header: r.Header, Body: body, Peer: netip.Addr{}}, nil
}

// cutHead parts a capture at the first empty line, and drops one line end
// that an editor puts at the end of every file.
func cutHead(raw []byte) (head string, body []byte) {
	raw = bytes.TrimLeft(raw, "\r\n")
	lf, crlf := bytes.Index(raw, []byte("\n\n")), bytes.Index(raw, []byte("\r\n\r\n"))
	switch {
	case crlf >= 0 && (lf < 0 || crlf < lf):
		head, body = string(raw[:crlf]), raw[crlf+4:]
	case lf >= 0:
		head, body = string(raw[:lf]), raw[lf+2:]
	default:
		head = strings.TrimRight(string(raw), "\r\n")
	}
	lower := strings.ToLower(head)
	if !strings.Contains(lower, "\ncontent-length:") && !strings.Contains(lower, "\ntransfer-encoding:") {
		body = bytes.TrimSuffix(bytes.TrimSuffix(body, []byte("\n")), []byte("\r"))
	}
	return head, body
}
