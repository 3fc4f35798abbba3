package shorthand

import (
	"cmp"
	"strings"

	"threshline/grading"
)

// maxDecimals is how many decimals a Decimal has. More are cut off, since no hand tool
// shows them.
const maxDecimals = 4

// read holds the numbers in one run of digits and marks.
type read struct {
	values []grading.Decimal
	// unclear says that the run can be read in two ways, such as 1,200.
	unclear bool
}

// readRun reads a run such as "13.8", "13,8", "13.8,14.1" or "1,200". Of kilos
// a comma with three digits behind it marks thousands; of anything else it is
// unclear.
func readRun(run string, kilos bool) read {
	run = strings.NewReplacer("o", "0", "O", "0").Replace(run)
	points, commas := strings.Count(run, "."), strings.Count(run, ",")
	switch {
	case strings.HasPrefix(run, "-"):
		one := readRun(run[1:], kilos)
		for i := range one.values {
			one.values[i] = -one.values[i]
		}
		return one
	case commas == 0 && points <= 1:
		return list(run)
	case commas == 0:
		return read{unclear: true}
	case kilos && grouped(run):
		return list(strings.ReplaceAll(run, ",", ""))
	case points > 0:
		return pointed(run)
	case commas == 1:
		whole, tail, _ := strings.Cut(run, ",")
		if len(tail) == 3 && strings.Trim(whole, "0") != "" {
			return read{unclear: true}
		}
		return list(whole + "." + tail)
	}
	return paired(strings.Split(run, ","))
}

// pointed reads a run with points and commas. Points mark the decimals, and commas part
// the numbers unless they can mark thousands.
func pointed(run string) read {
	parts := strings.Split(run, ",")
	for i, p := range parts {
		whole, _, _ := strings.Cut(p, ".")
		if i > 0 && len(whole) == 3 || strings.Count(p, ".") > 1 {
			return read{unclear: true}
		}
	}
	return list(parts...)
}

// paired reads a run with two commas or more: 13,8,14,1 is two numbers with
// decimal commas, 13,14,13 is three whole ones.
func paired(parts []string) read {
	pairs, wholes := len(parts)%2 == 0, true
	for i, p := range parts {
		if i%2 == 1 && len(p) != 1 || i%2 == 0 && len(p) < 2 {
			pairs = false
		}
		if len(p) < 2 || len(p) == 3 {
			wholes = false
		}
	}
	switch {
	case pairs:
		var joined []string
		for i := 0; i < len(parts); i += 2 {
			joined = append(joined, parts[i]+"."+parts[i+1])
		}
		return list(joined...)
	case wholes:
		return list(parts...)
	}
	return read{unclear: true}
}

// grouped reports whether the commas of a run mark thousands.
func grouped(run string) bool {
	whole, _, _ := strings.Cut(run, ".")
	groups := strings.Split(whole, ",")
	for i, g := range groups {
		if i > 0 && len(g) != 3 || len(g) > 3 || g == "" || i == 0 && strings.Trim(g, "0") == "" {
			return false
		}
	}
	return len(groups) > 1 && !strings.Contains(run[len(whole):], ",")
}

// list reads plain numbers with at most one point each.
func list(plain ...string) read {
	var r read
	for _, p := range plain {
		whole, tail, point := strings.Cut(p, ".")
		whole = cmp.Or(strings.TrimLeft(whole, "0"), "0")
		if point && tail != "" {
			whole += "." + tail[:min(len(tail), maxDecimals)]
		}
		d, err := grading.ParseDecimal(whole)
		if err != nil {
			return read{unclear: true}
		}
		r.values = append(r.values, d)
	}
	return r
}

// wholeRun reports whether a run is nothing but digits.
func wholeRun(run string) bool { return run != "" && strings.Trim(run, "0123456789") == "" }

// spaced joins whole numbers that are decimals with a space as the mark: 13 8 14 1 is
// 13.8 and 14.1. It joins only a number of two digits with one of a single digit.
func spaced(runs []string) []string {
	if len(runs) < 2 || len(runs)%2 != 0 {
		return runs
	}
	var joined []string
	for i := 0; i < len(runs); i += 2 {
		if !wholeRun(runs[i]) || !wholeRun(runs[i+1]) || len(runs[i]) != 2 || len(runs[i+1]) != 1 {
			return runs
		}
		joined = append(joined, runs[i]+"."+runs[i+1])
	}
	return joined
}
