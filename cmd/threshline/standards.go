package main

import (
	"io"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/report"
	"threshline/grading/standard"
)

type standardsCmd struct {
	ID string `arg:"" optional:"" help:"A built-in id, or the path of a standard file: print its limits, bases and source."`
}

func (cmd *standardsCmd) Run(std stdio) error {
	if cmd.ID == "" {
		all, err := standard.Builtin()
		if err != nil {
			return err
		}
		return report.List(std.out, all)
	}
	s, err := config.FindStandard(cmd.ID, ".")
	if err != nil {
		return err
	}
	_, err = io.WriteString(std.out, report.Standard(s))
	return err
}
