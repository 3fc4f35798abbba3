package carrier_test

import (
	"strings"
	"testing"

	"threshline/gateway/carrier"
	"threshline/session"
)

// BenchmarkRoundTrip admits, reads and answers one captured request of each
// shape.
func BenchmarkRoundTrip(b *testing.B) {
	channels := allChannels(b)
	for _, name := range []string{"plain-form.answer", "stage-json.keyed", "tree-xml.latin1", "heap-json.two"} {
		r, err := carrier.ParseCaptured(readFile(b, testdata+name+".http"))
		if err != nil {
			b.Fatal(err)
		}
		channel, _, _ := strings.Cut(name, ".")
		c := channels[channel]
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := c.Admit(r, noon); err != nil {
					b.Fatal(err)
				}
				messages, err := c.Read(r)
				if err != nil {
					b.Fatal(err)
				}
				answers := make([]carrier.Answer, len(messages))
				for i, in := range messages {
					answers[i] = carrier.Answer{Reply: session.Reply{Text: "Moisture, 3 readings:", More: true}, To: in}
				}
				if _, err := c.Write(answers...); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
