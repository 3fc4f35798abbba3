package main

import (
	_ "embed"
	"io"
)

// unitFile runs the gateway as a service that may do nothing but its work.
//
//go:embed threshline.service
var unitFile string

type unitCmd struct{}

// Help is the longer text of `threshline unit --help`.
func (*unitCmd) Help() string {
	return `threshline unit > /etc/systemd/system/threshline.service
systemctl daemon-reload && systemctl enable --now threshline
systemctl reload threshline reads the configuration, wording and prices again.`
}

func (*unitCmd) Run(std stdio) error {
	_, err := io.WriteString(std.out, unitFile)
	return err
}
