package main

import (
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

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

// TestTwoChannelsOfOneNameAreAFault holds that verify finds it, before a
// server that is started anew does.
func TestTwoChannelsOfOneNameAreAFault(t *testing.T) {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Channels[1].Name = cfg.Channels[0].Name
	if _, err := cfg.buildChannels(http.DefaultClient); err == nil || !strings.Contains(err.Error(), "stands twice") {
		t.Errorf("got %v", err)
	}
}
