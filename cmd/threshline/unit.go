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
	return `Install it, and start the gateway:

    threshline unit > /etc/systemd/system/threshline.service
    systemctl daemon-reload && systemctl enable --now threshline

To read the configuration, wording and prices again:

    systemctl reload threshline`
}

func (*unitCmd) Run(std stdio) error {
	_, err := io.WriteString(std.out, unitFile)
	return err
}
