package main

import (
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
	"threshline/gateway/carrier"
)

// TestTheReadmeNamesEveryKeyOfAChannel holds the page for those who connect a
// carrier against what the configuration takes.
func TestTheReadmeNamesEveryKeyOfAChannel(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]string{}
	for line := range strings.Lines(string(text)) {
		if cells := strings.SplitN(line, "|", 4); len(cells) == 4 && strings.Contains(cells[1], "[channel") {
			rows[strings.TrimSpace(cells[1])] = cells[2]
		}
	}
	for title, table := range map[string]any{
		"`[[channel]]`": carrier.Config{}, "`[channel.read]`": carrier.ReadConfig{}, "`[channel.reply]`": carrier.ReplyConfig{},
		"`[channel.guard]`": carrier.GuardConfig{}, "`[channel.send]`": carrier.SendConfig{}, "`[channel.receipt]`": carrier.ReceiptConfig{},
		"`[channel.guard.signature]`, `[channel.send.signature]`": carrier.SignatureConfig{},
	} {
		row, ok := rows[title]
		if !ok {
			t.Errorf("README.md has no row %s", title)
		}
		for _, f := range reflect.VisibleFields(reflect.TypeOf(table)) {
			isTable := f.Type.Kind() == reflect.Struct || f.Type.Kind() == reflect.Pointer // has a row of its own
			if key := f.Tag.Get("toml"); !isTable && !strings.Contains(row, "`"+key+"`") {
				t.Errorf("the row %s does not name %s", title, key)
			}
		}
	}
}

// TestTheReadmeNamesEveryKeyOfTheFile holds its example of a configuration
// against what the program takes.
func TestTheReadmeNamesEveryKeyOfTheFile(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	example := tomlBlock.FindStringSubmatch(string(text))
	if example == nil {
		t.Fatal("found no configuration")
	}
	n := 0
	for _, table := range reflect.VisibleFields(reflect.TypeFor[config.Config]()) {
		if table.Type.Kind() != reflect.Struct {
			continue
		}
		for _, f := range reflect.VisibleFields(table.Type) {
			n++
			key := f.Tag.Get("toml")
			if !regexp.MustCompile(`(?m)\b` + key + `\b`).MatchString(example[2]) {
				t.Errorf("README.md does not name %s of [%s]", key, table.Tag.Get("toml"))
			}
		}
	}
	if n < 30 {
		t.Errorf("found %d keys", n)
	}
}

// TestTwoChannelsOfOneNameAreAFault holds that verify finds it, before a
// server that is started anew does.
func TestTwoChannelsOfOneNameAreAFault(t *testing.T) {
	cfg, err := config.LoadOrDemo("")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Channels[1].Name = cfg.Channels[0].Name
	if _, err := buildChannels(cfg, http.DefaultClient); err == nil || !strings.Contains(err.Error(), "is used twice") {
		t.Errorf("got %v", err)
	}
}
