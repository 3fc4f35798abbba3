package access

import (
	"crypto/subtle"
	"encoding/base32"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"

	"threshline/session"
)

// The second factor is a code of six digits that an app makes anew every half
// minute, as [RFC-6238] says, in the form that every app knows.
const (
	codeStep   = 30 // seconds
	factorSize = 20 // bytes, as long as the hash that makes the codes
	// A code of the step before or after is taken too: clocks differ.
	stepsOff = 1
)

var codeForm = hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1}

// Recovery codes replace an app that is lost. Source: assumed, [ASSUMED-DESK].
const (
	recoveryCodes = 10
	recoverySize  = 10 // bytes: too many to try, so that a plain hash keeps them
)

var plainBase32 = base32.StdEncoding.WithPadding(base32.NoPadding)

// newFactor draws what the codes of an app are made from.
func (reg *Register) newFactor() (string, error) {
	b := make([]byte, factorSize)
	if _, err := io.ReadFull(reg.entropy, b); err != nil {
		return "", fmt.Errorf("desk: no random bits: %w", err)
	}
	return plainBase32.EncodeToString(b), nil
}

// factorLink is what an app reads from the drawing, or from a link.
func (g *Guard) factorLink(name, factor string) (string, error) {
	secret, err := plainBase32.DecodeString(factor)
	if err != nil || len(secret) != factorSize {
		return "", session.ErrNotFound
	}
	key, err := totp.Generate(totp.GenerateOpts{
		Issuer: g.cfg.Programme, AccountName: name, Secret: secret, Period: codeStep, Digits: codeForm.Digits, Algorithm: codeForm.Algorithm,
	})
	if err != nil {
		return "", err
	}
	return key.URL(), nil
}

// codeOf is the code of a time step.
func codeOf(factor string, step int64, form hotp.ValidateOpts) (string, error) {
	return hotp.GenerateCodeCustom(factor, uint64(step), form)
}

// takeCode reports whether a code is the app's just now or one of those that
// stand in for it, and uses it up in the account. None is taken twice.
func takeCode(a *session.Account, code string, now time.Time) bool {
	code = strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, strings.ToLower(code))
	for off := int64(-stepsOff); off <= stepsOff; off++ {
		step := now.Unix()/codeStep + off
		want, err := codeOf(a.Factor, step, codeForm)
		if err == nil && step > a.FactorStep && subtle.ConstantTimeCompare([]byte(want), []byte(code)) == 1 {
			a.FactorStep = step
			return true
		}
	}
	code = strings.NewReplacer("0", "o", "1", "i").Replace(code) // it has neither digit
	for i, kept := range a.Recovery {
		if subtle.ConstantTimeCompare([]byte(kept), []byte(digest(code))) == 1 {
			a.Recovery = slices.Delete(slices.Clone(a.Recovery), i, i+1)
			return true
		}
	}
	return false
}

// newRecovery draws the codes that stand in for an app: as they are shown, once,
// and as they are kept.
func (reg *Register) newRecovery() (shown, kept []string, err error) {
	for range recoveryCodes {
		b := make([]byte, recoverySize)
		if _, err := io.ReadFull(reg.entropy, b); err != nil {
			return nil, nil, fmt.Errorf("desk: no random bits: %w", err)
		}
		code := strings.ToLower(plainBase32.EncodeToString(b))
		kept = append(kept, digest(code))
		typed := strings.ToUpper(code) // an l would pass for a 1
		shown = append(shown, typed[:4]+"-"+typed[4:8]+"-"+typed[8:12]+"-"+typed[12:])
	}
	return shown, kept, nil
}

// second asks for the second factor of somebody whose password was right; without
// one there is nothing to ask. Wrong codes are counted by the account: whoever
// has come so far knows the password. The owner's own browser counts for itself.
func (g *Guard) second(a *session.Account, code string, tries []attempt) bool {
	if a.Factor == "" {
		return true
	}
	who := attempt{account: strings.ToLower(a.Name), browser: tries[0].browser}
	now := g.now()
	if g.codes.begin(now, who) > 0 || !takeCode(a, code, now) {
		return false
	}
	g.codes.succeed(who)
	return true
}

// LacksFactor reports whether a visitor has to set up a second factor first.
func (g *Guard) LacksFactor(v *Visitor) bool {
	return v.May(session.DeskAdministrator) && v.Account.Factor == "" && !g.cfg.OneFactor
}
