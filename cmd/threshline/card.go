package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"threshline/cmd/threshline/card"
	"threshline/cmd/threshline/config"
)

type cardCmd struct {
	Config   string `help:"Configuration; the demonstration's when not given." type:"existingfile" placeholder:"FILE"`
	Language string `help:"Language of the card; the programme's first when not given." placeholder:"CODE"`
	Output   string `short:"o" help:"Where to write the page; standard output when not given." placeholder:"FILE"`
}

// Help is the longer text of `threshline card --help`.
func (cmd *cardCmd) Help() string {
	return `Writes one printable HTML page (A4, no script) for the agent's bag: the work
step by step, sieves and times, the shorthand, keys and words, the cautions, and
the limits of the standard in force. Print it, or save it as PDF, from a browser.`
}

func (cmd *cardCmd) Run(std stdio) (err error) {
	cfg, err := config.LoadOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	p, words, err := cfg.Build()
	if err != nil {
		return err
	}
	lang := cmd.Language
	if lang == "" && len(p.Languages) > 0 {
		lang = string(p.Languages[0])
	}
	if !slices.Contains(words.Languages(), lang) {
		return &fault{
			fmt.Errorf("card: there is no wording for language %q", lang),
			"there are catalogues for " + strings.Join(words.Languages(), ", "),
		}
	}
	out := std.out
	if cmd.Output != "" {
		file, err := os.Create(cmd.Output)
		if err != nil {
			return fmt.Errorf("card: %w", err)
		}
		defer func() {
			if e := file.Close(); err == nil && e != nil {
				err = fmt.Errorf("card: %w", e)
			}
		}()
		out = file
	}
	return card.Write(out, p, words, lang)
}
