package main

import (
	"cmp"
	"fmt"
	"io"
	"net/http"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/report"
	"threshline/session/wording"
)

type verifyCmd struct {
	Config string `arg:"" optional:"" help:"The configuration; the demonstration's when not given." type:"existingfile"`
}

func (cmd *verifyCmd) Run(std stdio) error {
	cfg, err := config.LoadOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	p, words, err := cfg.Build()
	if err != nil {
		return err
	}
	if _, err := buildChannels(cfg, http.DefaultClient); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "configuration  good: %s, %d channels\n", p.Name, len(cfg.Channels))
	fmt.Fprintf(std.out, "standard       good: %s, %s, %s\n", p.Standard.ID, p.Standard.Title, p.Standard.Status)
	for _, line := range cfg.Unpriced() {
		fmt.Fprintf(std.out, "money          %s\n", line)
	}
	if !p.Standard.InForce(time.Now().Format(time.DateOnly)) {
		fmt.Fprintf(std.out, "  WARNING: %s\n", report.OutOfForce(p.Standard))
	}
	for _, name := range cfg.Everywhere() {
		fmt.Fprintf(std.out, "  WARNING: channel %s sends to mobile numbers of all countries: set region or allow_prefixes\n", name)
	}
	sampled := p.Sampling()
	fmt.Fprintf(std.out, "bags           %s: %s (%s)\n", cmp.Or(string(sampled.Purpose), "the programme's own rule"), sampled.Plan.Title, sampled.Plan.Status)
	kept := "for ever; keep_people_days would set an end"
	if days := cfg.Programme.KeepPeople; days > 0 {
		kept = fmt.Sprintf("%d days after they were last heard of", days)
	}
	fmt.Fprintf(std.out, "people         names and numbers are kept %s\n", kept)
	fmt.Fprintf(std.out, "kit            without an agent nearby who agreed to be named, a grower is sent to: %s\n", cmp.Or(p.KitAt, "nobody; kit_at would say where"))
	return verifyWording(std.out, words)
}

// verifyWording prints what a translator has to correct, and what speakers
// still have to look at.
func verifyWording(w io.Writer, words *wording.Catalogue) error {
	for _, lang := range words.Languages() {
		fmt.Fprintf(w, "wording        %s, %s: %s\n", lang, words.Name(lang), words.Status(lang))
	}
	faults := 0
	findings := wording.Verify(words, wording.Limits{})
	for _, f := range findings {
		fmt.Fprintf(w, "  %s\n", f)
		if f.Fault() {
			faults++
		}
	}
	if faults > 0 {
		return fmt.Errorf("wording: %d faults", faults)
	}
	return nil
}
