package carrier_test

import (
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// What a request or the channel says of the charset holds for XML as for
// every other form, whatever the document declares.
func TestXMLIsReadInTheCharsetThatIsStated(t *testing.T) {
	const declared, bare = `<?xml version="1.0" encoding="ISO-8859-1"?><m><f>33639980001</f><t>séché</t></m>`, `<m><f>33639980001</f><t>séché</t></m>`
	latin := func(s string) string {
		out, err := charmap.ISO8859_1.NewEncoder().String(s)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	wide := func(s string) string {
		out, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().String(s)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	for _, c := range []struct{ name, charset, contentType, body string }{
		{"declared in the document alone", "", "text/xml", latin(declared)},
		{"stated by the request alone", "", "text/xml; charset=iso-8859-1", latin(bare)},
		{"stated by the channel alone", "iso-8859-1", "text/xml", latin(bare)},
		{"stated and declared alike", "", "text/xml; charset=iso-8859-1", latin(declared)},
		{"declared wrongly: what is stated holds", "", "text/xml; charset=utf-8", declared},
		{"UTF-16, stated", "", "text/xml; charset=utf-16", wide(bare)},
		{"UTF-16, stated, with a declaration", "utf-16be", "text/xml", wide(`<?xml version="1.0" encoding="UTF-16"?>` + bare)},
		{"UTF-8 with a mark at its beginning", "", "text/xml", "\ufeff" + bare},
		{"UTF-8 and nobody says so", "", "text/xml", bare},
		{"windows-1252 and nobody says so", "", "text/xml", latin(bare)},
	} {
		channel := newChannel(t, `
name = "line"
kind = "sms"
read = { from = "xml:/m/f", text = "xml:/m/t", charset = "`+c.charset+`" }
reply = { body = "{{.Text}}" }
guard = { open = true }
`)
		messages, err := channel.Read(post(c.contentType, c.body))
		if err != nil || len(messages) != 1 || messages[0].Text != "séché" {
			t.Errorf("%s: read %+v, %v", c.name, messages, err)
		}
	}
}
