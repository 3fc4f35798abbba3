package access

import (
	"encoding/base32"
	"testing"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"

	"threshline/session"
)

// TestCodesAreThoseOfTheStandard holds the codes against the test vectors of
// [RFC-6238], appendix B: eight digits, three hashes, their keys as long as the
// hash.
func TestCodesAreThoseOfTheStandard(t *testing.T) {
	const digits = "1234567890"
	keys := map[otp.Algorithm]string{
		otp.AlgorithmSHA1:   digits + digits,
		otp.AlgorithmSHA256: digits + digits + digits + "12",
		otp.AlgorithmSHA512: digits + digits + digits + digits + digits + digits + "1234",
	}
	for _, v := range []struct {
		seconds              int64
		sha1, sha256, sha512 string
	}{
		{59, "94287082", "46119246", "90693936"},
		{1111111109, "07081804", "68084774", "25091201"},
		{1111111111, "14050471", "67062674", "99943326"},
		{1234567890, "89005924", "91819424", "93441116"},
		{2000000000, "69279037", "90698825", "38618901"},
		{20000000000, "65353130", "77737706", "47863826"},
	} {
		for algorithm, want := range map[otp.Algorithm]string{otp.AlgorithmSHA1: v.sha1, otp.AlgorithmSHA256: v.sha256, otp.AlgorithmSHA512: v.sha512} {
			factor := base32.StdEncoding.EncodeToString([]byte(keys[algorithm]))
			got, err := codeOf(factor, v.seconds/codeStep, hotp.ValidateOpts{Digits: otp.DigitsEight, Algorithm: algorithm})
			if err != nil || got != want {
				t.Errorf("%d s, %v: %q, %v; want %q", v.seconds, algorithm, got, err, want)
			}
		}
	}
}

// TestACodeIsTakenOnceAndNearItsTime tries the code of one step around it.
func TestACodeIsTakenOnceAndNearItsTime(t *testing.T) {
	at := time.Unix(1_800_000_000, 0) // the first second of a step
	a := session.Account{Factor: plainBase32.EncodeToString([]byte("12345678901234567890"))}
	code, err := codeOf(a.Factor, at.Unix()/codeStep, codeForm)
	if err != nil || len(code) != 6 {
		t.Fatalf("%q, %v", code, err)
	}
	for off, want := range map[time.Duration]bool{
		-31 * time.Second: false, -30 * time.Second: true, 0: true, 29 * time.Second: true, 59 * time.Second: true, 60 * time.Second: false,
	} {
		b := a
		if got := takeCode(&b, code[:3]+" "+code[3:], at.Add(off)); got != want {
			t.Errorf("%s off: taken %v, want %v", off, got, want)
		}
		if takeCode(&b, code, at.Add(off)) {
			t.Errorf("%s off: taken twice", off)
		}
	}
	if takeCode(&a, "", at) || takeCode(&session.Account{}, code, at) {
		t.Error("no code is taken, or one for no factor")
	}
}
