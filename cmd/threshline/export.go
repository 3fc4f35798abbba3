package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"threshline/cmd/threshline/progress"
)

type exportCmd struct {
	At         string `help:"Address of the running gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	TokenFile  string `help:"File that holds the token; the variable THRESHLINE_TOKEN is read when not given." type:"path" placeholder:"FILE"`
	Format     string `help:"csv, jsonl or xlsx." enum:"csv,jsonl,xlsx" default:"csv"`
	Out        string `help:"File to write; standard output when not given." short:"o" type:"path" placeholder:"FILE"`
	Identified bool   `help:"With names and numbers. The token must have that scope, and it is written to the audit log."`

	From      string `help:"First day, such as 2026-11-01." placeholder:"DAY"`
	To        string `help:"Last day." placeholder:"DAY"`
	District  string `help:"Only this district." placeholder:"NAME"`
	Village   string `help:"Only this village." placeholder:"NAME"`
	Agent     string `help:"Only this agent's growers, by code." placeholder:"CODE"`
	Grower    string `help:"Only this grower, by code." placeholder:"CODE"`
	Variety   string `help:"Only this variety." placeholder:"NAME"`
	Standard  string `help:"Only checks by this standard, or ID|EDITION." placeholder:"ID"`
	Procedure string `help:"Only checks made by this edition of the procedure." placeholder:"NUMBER"`
	Grade     string `help:"Only this grade." placeholder:"LABEL"`
	Deciding  string `help:"Only what this parameter holds down." placeholder:"ID"`
	Channel   string `help:"Only what came through this channel." placeholder:"NAME"`
	Kind      string `help:"first, re-check, or last: each lot once." enum:",first,re-check,last" default:""`
	State     string `help:"corrected, withdrawn or any; those that are filed when not given." enum:",corrected,withdrawn,any" default:""`
	Only      string `help:"borderline or lacking." enum:",borderline,lacking" default:""`
}

func (cmd *exportCmd) Help() string {
	return `Exports filed checks from the running gateway, over its interface for
programs. An administrator makes the token at the desk, under "People and
tokens"; it needs the scope "export", and "identified" for names and numbers.
Without those, people are codes. Every export says which checks it holds, when
it was made, and by which standard and edition they were graded.`
}

// Run fetches the export. A file appears under its name only when it is whole.
func (cmd *exportCmd) Run(ctx context.Context, std stdio) error {
	token, err := readToken(cmd.TokenFile)
	if err != nil {
		return err
	}
	body, err := askAdmin(ctx, http.MethodGet, cmd.At, "/admin/v1/export?"+cmd.query().Encode(), token, nil)
	if err != nil {
		return err
	}
	defer body.Close()
	if cmd.Out == "" && progress.Terminal(std.out) {
		_, err := io.Copy(std.out, body)
		return broken(err)
	}
	bar := std.taking("export", -1) // how long it becomes the gateway does not know before
	defer bar.End()
	came := bar.Reader(body)
	if cmd.Out == "" {
		_, err := io.Copy(std.out, came)
		return broken(err)
	}
	file, err := os.CreateTemp(filepath.Dir(cmd.Out), ".export-*")
	if err != nil {
		return err
	}
	defer os.Remove(file.Name()) // of no effect once it has its name
	if _, err = io.Copy(file, came); err != nil {
		return errors.Join(broken(err), file.Close())
	}
	if err := file.Close(); err != nil {
		return err
	}
	return os.Rename(file.Name(), cmd.Out)
}

// query is the filter as the interface takes it.
func (cmd *exportCmd) query() url.Values {
	q := url.Values{"format": {cmd.Format}}
	for key, value := range map[string]string{
		"from": cmd.From, "to": cmd.To, "district": cmd.District, "village": cmd.Village, "agent": cmd.Agent, "grower": cmd.Grower,
		"variety": cmd.Variety, "standard": cmd.Standard, "procedure": cmd.Procedure, "grade": cmd.Grade, "deciding": cmd.Deciding, "channel": cmd.Channel,
		"kind": cmd.Kind, "state": cmd.State, "only": cmd.Only,
	} {
		if value != "" {
			q.Set(key, value)
		}
	}
	if cmd.Identified {
		q.Set("identified", "yes")
	}
	return q
}

func broken(err error) error {
	if err == nil {
		return nil
	}
	return &fault{fmt.Errorf("the export broke off: %w", err), "run it again; if the fault was the gateway's, its log says why"}
}

// tokenVariable is the variable with the token when no file is named.
const tokenVariable = "THRESHLINE_TOKEN"

// readToken reads a token from a file or the environment; never from a flag,
// which others on the machine could see.
func readToken(path string) (string, error) {
	if path == "" {
		if t := strings.TrimSpace(os.Getenv(tokenVariable)); t != "" {
			return t, nil
		}
		return "", &fault{errors.New("there is no token"), "give --token-file, or set " + tokenVariable + "; an administrator makes tokens at the desk"}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("token: %w", err)
	}
	return strings.TrimSpace(string(data)), nil
}

// askAdmin asks the interface for programs for something, or hands it the
// body. The caller closes what comes back.
func askAdmin(ctx context.Context, method, at, path, token string, body io.Reader) (io.ReadCloser, error) {
	req, err := http.NewRequestWithContext(ctx, method, strings.TrimSuffix(at, "/")+path, body)
	if err != nil {
		return nil, err
	}
	req.Header.Set("Authorization", "Bearer "+token)
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.Do(req)
	if err != nil {
		return nil, &fault{fmt.Errorf("no answer from the gateway: %w", err), "is it running, and is --at its address?"}
	}
	if resp.StatusCode == http.StatusOK {
		return resp.Body, nil
	}
	defer resp.Body.Close()
	var why struct {
		Error  string   `json:"error"`
		Faults []string `json:"faults"` // of a roster, by line
	}
	if err := json.NewDecoder(io.LimitReader(resp.Body, 1<<20)).Decode(&why); err != nil || why.Error == "" {
		why.Error = "it is not a gateway, or has no desk"
	}
	if len(why.Faults) > 0 {
		return nil, &fault{errors.New(strings.Join(why.Faults, "\n")), correctRoster}
	}
	return nil, &fault{fmt.Errorf("the gateway answered %s: %s", resp.Status, why.Error), adminHint(resp.StatusCode)}
}

func adminHint(status int) string {
	switch status {
	case http.StatusUnauthorized:
		return "the token was mistyped, revoked or is too old; an administrator makes a new one at the desk"
	case http.StatusForbidden, http.StatusBadRequest:
		return "threshline export --help and threshline roster --help say what can be asked for, and with which token"
	case http.StatusTooManyRequests:
		return "wait a minute, then try again"
	}
	return ""
}
