package programme

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"threshline/session"
)

// rosterColumns are the columns of a roster file, in the order in which it is
// written. A file may leave out all but role and name, and order them freely.
var rosterColumns = []string{"role", "number", "name", "district", "village", "language", "agent", "short", "meter"}

// RosterRow is one line of a roster.
type RosterRow struct {
	Line              int
	Role              session.Role
	Phone             session.Phone
	Name              string
	District, Village string
	Language          session.Language
	// Agent is the number of the agent who looks after a grower.
	Agent session.Phone
	Short int // 0 when the file gives none
	Meter string
}

// RosterFault says what is wrong with one line of a roster.
type RosterFault struct {
	Line    int
	Column  string
	Problem string
}

// Error is "line 3, number: want ...".
func (f RosterFault) Error() string {
	if f.Column == "" {
		return fmt.Sprintf("line %d: %s", f.Line, f.Problem)
	}
	return fmt.Sprintf("line %d, %s: %s", f.Line, f.Column, f.Problem)
}

// RosterRules are what the words of a roster are checked against.
type RosterRules struct {
	Languages []session.Language
	Districts []string // empty takes any
	Meters    []string // empty takes any
	// Number makes a number comparable (E.164), or says why it cannot.
	Number func(string) (session.Phone, error)
}

// ReadRoster reads a roster file: CSV [RFC-4180] in UTF-8 with a heading. The error
// joins a RosterFault for each thing that is wrong; then use no row.
func ReadRoster(r io.Reader, rules RosterRules) ([]RosterRow, error) {
	reader := csv.NewReader(r)
	reader.FieldsPerRecord = -1
	reader.TrimLeadingSpace = true
	heading, err := reader.Read()
	if err != nil {
		return nil, RosterFault{1, "", "want a heading such as " + strings.Join(rosterColumns, ",")}
	}
	columns, faults := rosterHeading(heading)
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	var rows []RosterRow
	numbers, shorts := map[session.Phone]int{}, map[shortPlace]int{}
	for {
		record, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if torn, ok := errors.AsType[*csv.ParseError](err); ok {
			faults = append(faults, RosterFault{torn.Line, "", torn.Err.Error()})
			break
		} else if err != nil {
			return nil, err
		}
		line, _ := reader.FieldPos(0)
		row, wrong := rules.row(line, columns, record)
		faults = append(faults, wrong...)
		if first, twice := numbers[row.Phone]; twice && row.Phone != "" {
			faults = append(faults, RosterFault{line, "number", fmt.Sprintf("stands on line %d already", first)})
		}
		numbers[row.Phone] = line
		if place := (shortPlace{row.Agent, row.Short}); row.Short > 0 {
			if first, twice := shorts[place]; twice {
				faults = append(faults, RosterFault{line, "short", fmt.Sprintf("%d of that agent stands on line %d already", row.Short, first)})
			}
			shorts[place] = line
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 && len(faults) == 0 {
		faults = append(faults, RosterFault{2, "", "there is nobody in the file"})
	}
	return rows, errors.Join(faults...)
}

// shortPlace is one of an agent's short numbers.
type shortPlace struct {
	agent session.Phone
	short int
}

func rosterHeading(heading []string) (columns []string, faults []error) {
	for _, name := range heading {
		name = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff")))
		if !slices.Contains(rosterColumns, name) {
			faults = append(faults, RosterFault{1, name, "unknown column: want some of " + strings.Join(rosterColumns, ",")})
		} else if slices.Contains(columns, name) {
			faults = append(faults, RosterFault{1, name, "stands twice"})
		}
		columns = append(columns, name)
	}
	for _, needed := range []string{"role", "name"} {
		if !slices.Contains(columns, needed) {
			faults = append(faults, RosterFault{1, needed, "is missing"})
		}
	}
	return columns, faults
}

// row reads one record.
func (rules *RosterRules) row(line int, columns, record []string) (row RosterRow, faults []error) {
	wrong := func(column, format string, args ...any) {
		faults = append(faults, RosterFault{line, column, fmt.Sprintf(format, args...)})
	}
	row.Line = line
	if len(record) != len(columns) {
		wrong("", "has %d fields, the heading has %d", len(record), len(columns))
		return row, faults
	}
	for i, column := range columns {
		value := strings.TrimSpace(record[i])
		if bare, quoted := strings.CutPrefix(value, "'"); quoted && harmless(bare) != bare {
			value = bare
		}
		if value != "" {
			rules.field(&row, column, value, wrong)
		}
	}
	if row.Role == "" {
		wrong("role", "is empty: want grower, agent, buyer or coordinator")
	}
	if row.Name == "" {
		wrong("name", "is empty")
	}
	switch {
	case row.Role == session.Grower && row.Phone == "" && row.Agent == "":
		wrong("number", "a grower without a number needs an agent")
	case row.Role != session.Grower && row.Role != "" && row.Phone == "":
		wrong("number", "is empty: only a grower can be without one")
	case row.Role != session.Grower && row.Agent != "":
		wrong("agent", "only a grower has one")
	case row.Short > 0 && row.Agent == "":
		wrong("short", "is an agent's number for a grower: the agent is missing")
	}
	return row, faults
}

// field reads one value that is not empty.
func (rules *RosterRules) field(row *RosterRow, column, value string, wrong func(column, format string, args ...any)) {
	switch column {
	case "role":
		role := session.Role(strings.ToLower(value))
		if !slices.Contains([]session.Role{session.Grower, session.Agent, session.Buyer, session.Coordinator}, role) {
			wrong(column, "%q: want grower, agent, buyer or coordinator", value)
		}
		row.Role = role
	case "number", "agent":
		phone, err := rules.Number(value)
		if err != nil || !phone.Answerable() {
			wrong(column, "is no telephone number: want such as +33639981234")
		} else if column == "number" {
			row.Phone = phone
		} else {
			row.Agent = phone
		}
	case "name", "village":
		if len([]rune(value)) > session.LongestName {
			wrong(column, "has more than %d letters", session.LongestName)
		} else if column == "name" {
			row.Name = session.NoAddress(value)
		} else {
			row.Village = session.NoAddress(value)
		}
	case "district":
		if len(rules.Districts) > 0 && !slices.Contains(rules.Districts, value) {
			wrong(column, "%q: want %s", value, strings.Join(rules.Districts, ", "))
		}
		row.District = value
	case "language":
		row.Language = session.Language(strings.ToLower(value))
		if !slices.Contains(rules.Languages, row.Language) {
			wrong(column, "%q: want one of %q", value, rules.Languages)
		}
	case "meter":
		i := slices.IndexFunc(rules.Meters, func(name string) bool { return strings.EqualFold(name, value) })
		if len(rules.Meters) > 0 && i < 0 || len([]rune(value)) > session.LongestName {
			wrong(column, "%q: want one of the programme's meters, %s", value, strings.Join(rules.Meters, ", "))
		} else if row.Meter = value; i >= 0 {
			row.Meter = rules.Meters[i]
		}
	case "short":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 || n > MostShort {
			wrong(column, "%q: want 1 to %d", value, MostShort)
		}
		row.Short = n
	}
}

// WriteRoster writes people as ReadRoster reads them; those that were
// forgotten are left out. A spreadsheet that opens it runs nothing: a text that
// looks like a formula gets a leading apostrophe.
func WriteRoster(w io.Writer, people []session.Person) error {
	numbers := map[session.PersonID]session.Phone{}
	for _, p := range people {
		numbers[p.ID] = p.Phone
	}
	out := csv.NewWriter(w)
	if err := out.Write(rosterColumns); err != nil {
		return err
	}
	for _, p := range people {
		if p.Forgotten {
			continue
		}
		short := ""
		if p.Short > 0 {
			short = strconv.Itoa(p.Short)
		}
		err := out.Write([]string{
			string(p.Role), string(p.Phone), harmless(p.Name), harmless(p.District), harmless(p.Village),
			string(p.Language), string(numbers[p.Agent]), short, harmless(p.Kit.Meter),
		})
		if err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func harmless(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
