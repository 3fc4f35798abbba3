package carrier

import (
	"slices"
	"strconv"
	"strings"

	"github.com/nyaruka/phonenumbers"

	"threshline/session"
)

// maxNumber is the longest sender that is read, in bytes: longer ones have kept number
// libraries busy for long. Our own choice.
const maxNumber = 32

// How a number without a plus is meant.
const (
	numbersAuto          = "auto"
	numbersInternational = "international"
	numbersLocal         = "local"
)

// readNumber makes a sender comparable. A telephone number becomes E.164, by
// its syntax alone: a table of valid ranges may be too old and must not drop
// anybody. A short code or a word stays as it is.
func readNumber(raw, form, region string) (session.Phone, error) {
	raw = strings.TrimSpace(raw)
	raw = strings.TrimPrefix(raw, "tel:")
	if raw == "" {
		return "", ErrMissing
	}
	if len(raw) > maxNumber {
		return "", ErrNumber
	}
	digits := strings.Map(dropSeparators, raw)
	if !allDigits(strings.TrimPrefix(digits, "+")) {
		return readWord(raw)
	}
	switch {
	case strings.HasPrefix(digits, "+"):
		return international(digits[1:])
	case strings.HasPrefix(digits, "00"):
		return international(digits[2:])
	case form == numbersInternational:
		if len(digits) < minInternational {
			return session.Phone(digits), nil
		}
		return international(digits)
	}
	return guess(digits, form == numbersLocal, region), nil
}

// Local reads a telephone number as it is written within a region.
func Local(raw, region string) (session.Phone, bool) {
	phone, err := readNumber(raw, numbersLocal, strings.ToUpper(region))
	return phone, err == nil && strings.HasPrefix(string(phone), "+")
}

func dropSeparators(r rune) rune {
	if strings.ContainsRune(" ()-.\u00a0", r) {
		return -1
	}
	return r
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// readWord keeps an alphanumeric sender, which cannot be answered.
func readWord(raw string) (session.Phone, error) {
	for _, r := range raw {
		if r < ' ' || r == 0x7f || r == 0xfffd {
			return "", ErrNumber
		}
	}
	if raw[0] == '+' {
		return "", ErrNumber // would be taken for a number
	}
	return session.Phone(raw), nil
}

// Lengths of an international number without its plus. At most 15 digits:
// [ITU-E.164]. The least is our own choice: shorter ones are short codes.
const (
	minInternational = 7
	maxInternational = 15
)

func international(digits string) (session.Phone, error) {
	if len(digits) < minInternational || len(digits) > maxInternational || digits[0] == '0' {
		return "", ErrNumber
	}
	return session.Phone("+" + digits), nil
}

// guess reads digits without a plus: as a number of the region, or with its country
// code first, whichever a table of numbers holds valid, else possible. If neither fits,
// it is a short code.
func guess(digits string, local bool, region string) session.Phone {
	candidates := []*phonenumbers.PhoneNumber{}
	if n, err := phonenumbers.Parse(digits, region); err == nil && region != "" {
		candidates = append(candidates, n)
	}
	if n, err := phonenumbers.Parse("+"+digits, ""); err == nil && !local && digits[0] != '0' {
		candidates = append(candidates, n)
	}
	for _, fits := range []func(*phonenumbers.PhoneNumber) bool{phonenumbers.IsValidNumber, possible} {
		for _, n := range candidates {
			if phone := phonenumbers.Format(n, phonenumbers.E164); fits(n) && len(phone) > minInternational {
				return session.Phone(phone)
			}
		}
	}
	return session.Phone(digits)
}

// possible reports whether a number has a length that can be dialled from
// abroad.
func possible(n *phonenumbers.PhoneNumber) bool {
	return phonenumbers.IsPossibleNumberWithReason(n) == phonenumbers.IS_POSSIBLE
}

// mayReach reports whether an outgoing message may be addressed to a number. The number
// must begin with one of the prefixes. If there are none, it must be a valid mobile
// number, of the region if one is set. An expensive number needs a prefix that names
// its range, and not just its country.
func mayReach(p session.Phone, prefixes []string, region string) bool {
	if !p.Answerable() || !allDigits(string(p[1:])) || len(p) > maxInternational+1 {
		return false
	}
	n, err := phonenumbers.Parse(string(p), "")
	if len(prefixes) > 0 {
		named := 1 // the plus: any number
		if err == nil {
			named = namedBy(n)
		}
		return slices.ContainsFunc(prefixes, func(prefix string) bool {
			return strings.HasPrefix(string(p), prefix) && len(prefix) >= named
		})
	}
	if err != nil || overall(n) || !phonenumbers.IsValidNumber(n) {
		return false
	}
	if region != "" && n.GetCountryCode() != int32(phonenumbers.GetCountryCodeForRegion(region)) {
		return false
	}
	kind := phonenumbers.GetNumberType(n)
	return kind == phonenumbers.MOBILE || kind == phonenumbers.FIXED_LINE_OR_MOBILE
}

// overall reports whether a number belongs to no country, but to a satellite or another
// worldwide network: all these call codes are expensive.
func overall(n *phonenumbers.PhoneNumber) bool {
	return phonenumbers.GetSupportedGlobalNetworkCallingCodes()[int(n.GetCountryCode())]
}

// namedBy is the least length of a prefix, with its plus, that names a number. For a
// worldwide network that is its code. For a number that pays its owner, or costs more
// than others, it is more than the country's code.
func namedBy(n *phonenumbers.PhoneNumber) int {
	code := len("+" + strconv.Itoa(int(n.GetCountryCode())))
	if overall(n) {
		return code
	}
	switch phonenumbers.GetNumberType(n) {
	case phonenumbers.PREMIUM_RATE, phonenumbers.SHARED_COST, phonenumbers.PERSONAL_NUMBER, phonenumbers.PAGER, phonenumbers.UAN:
		return code + 1
	}
	return 1
}

// ParseNumber makes a telephone number comparable as Read does for a sender:
// with a plus, with 00, or local to the region (ISO 3166 code, may be empty).
// Its errors are ErrMissing and ErrNumber.
func ParseNumber(raw, region string) (session.Phone, error) {
	return readNumber(raw, numbersAuto, region)
}
