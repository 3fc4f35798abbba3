package main

import (
	"testing"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/grading/standard/standardtest"
)

// valley is the demonstration's configuration, over the tests' own table.
func valley(t testing.TB) *config.Config {
	t.Helper()
	cfg, err := valleyConfig()
	if err != nil {
		t.Fatal(err)
	}
	return cfg
}

func valleyConfig() (*config.Config, error) {
	cfg, err := config.Parse("demo.toml", demo.Config)
	if err != nil {
		return nil, err
	}
	cfg.Programme.Standard, err = standardtest.Path()
	return cfg, err
}
