package main

import (
	"context"
	"strings"
	"testing"
)

// What a command's help shows as lines to copy stays lines: joined into a
// paragraph they do something else, or nothing.
func TestHelpKeepsLinesToCopy(t *testing.T) {
	for command, help := range map[string]string{
		"unit": (*unitCmd)(nil).Help(), "grade": (*gradeCmd)(nil).Help(), "roster": (*rosterCmd)(nil).Help(), "load": (*loadCmd)(nil).Help(),
		"access": (*accessCmd)(nil).Help(), "backup": (*backupCmd)(nil).Help(), "card": (*cardCmd)(nil).Help(), "demo": (*demoCmd)(nil).Help(),
		"export": (*exportCmd)(nil).Help(), "hear": (*hearCmd)(nil).Help(), "phone": (*phoneCmd)(nil).Help(), "restore": (*restoreCmd)(nil).Help(),
		"compact": (*compactCmd)(nil).Help(), "clock": (*clockCmd)(nil).Help(),
	} {
		var out, errs strings.Builder
		run(context.Background(), []string{command, "--help"}, stdio{in: strings.NewReader(""), out: &out, err: &errs})
		var shown []string
		for line := range strings.Lines(out.String()) {
			shown = append(shown, strings.TrimSpace(line))
		}
		all := "\n" + strings.Join(shown, "\n") + "\n"
		for line := range strings.Lines(help) {
			if indented := strings.TrimSpace(line); strings.HasPrefix(line, "  ") && !strings.Contains(all, "\n"+indented+"\n") {
				t.Errorf("%s --help breaks %q:\n%s", command, indented, out.String())
			}
		}
	}
}
