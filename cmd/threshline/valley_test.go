package main

import (
	"testing"

	"threshline/cmd/threshline/demo"
	"threshline/grading/standard/standardtest"
)

// valley is the demonstration's configuration, over the tests' own table.
func valley(t testing.TB) *config {
	t.Helper()
	cfg, err := parseConfig("demo.toml", demo.Config)
	if err != nil {
		t.Fatal(err)
	}
	if cfg.Programme.Standard, err = standardtest.Path(); err != nil {
		t.Fatal(err)
	}
	return cfg
}
