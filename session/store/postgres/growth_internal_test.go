package postgres

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/record"
	"threshline/session/store/storetest"
)

// mostGrown bounds what an exchange touches of a store of many checks, as a share
// of what it touches of a small one.
const mostGrown = 1.3

// An exchange over many checks touches hardly more pages than one over few, however
// fast the machine is: nothing is read through.
func TestAnExchangeTouchesHardlyMoreOfALargeStore(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off", "autovacuum=off")
	var touched [2]float64
	for i, n := range []int{1000, 60_000} {
		options := Options{Schema: fmt.Sprint("of", n), CallersClock: true}
		if err := Import(t.Context(), server.URL("postgres"), manyChecks(n), options, false); err != nil {
			t.Fatal(err)
		}
		touched[i] = pagesOfAnExchange(t, at(t, server.URL("postgres"), options))
	}
	t.Logf("%.1f pages of a small store, %.1f of a large one", touched[0], touched[1])
	if touched[0] == 0 || touched[1] > mostGrown*touched[0] {
		t.Errorf("an exchange touches %.1f pages of a small store, %.1f of a large one", touched[0], touched[1])
	}
}

// manyChecks is a store of n checks, of a grower for each ten.
func manyChecks(n int) record.Things {
	return func(yield func(record.Thing) error) error {
		err := yield(record.Thing{Counted: &record.Counted{Secret: make([]byte, secretSize), Dialogues: 1, Checks: uint64(n)}})
		for i := 0; i < n && err == nil; i++ {
			k := storetest.Check(i, storetest.PersonID(i%(n/10)), storetest.PersonID(i%300))
			k.Slip, k.Version, k.Position = session.Slip(fmt.Sprintf("L%x", uint64(i)*0x9e3779b97f4a7c15)), 1, uint64(i+1)
			err = yield(record.Thing{Check: &k})
		}
		return err
	}
}

// pagesOfAnExchange is how many pages an exchange's statements touch that
// reads a grower's checks and files one more, on average.
func pagesOfAnExchange(t *testing.T, s *Store) float64 {
	t.Helper()
	const exchanges = 30
	all := 0
	for i := range exchanges {
		phone, grower := storetest.Phone(i), storetest.PersonID(i)
		key := session.Key{Phone: phone, Duplicate: fmt.Sprint("m", i), KeepUntil: storetest.Begin}
		d, k := storetest.Dialogue(phone), storetest.Check(i, grower, grower)
		k.Slip = session.Slip(fmt.Sprintf("N%x", uint64(i)*0x9e3779b97f4a7c15))
		w := session.Writes{Dialogue: &d, Checks: []session.Check{k}}
		x, err := prepare(key, s.hasher.AnswerKey(key), 0, &w)
		if err != nil {
			t.Fatal(err)
		}
		slip := fmt.Sprintf("L%x", uint64(i)*0x9e3779b97f4a7c15)
		asks := asksText([]session.Ask{{Kind: session.AskCheck, ID: slip, N: 5}, {Kind: session.AskGrower, ID: string(grower), N: 5}})
		all += pages(t, s, lookSQL, []string{string(phone)}, [][]byte{x.answer})
		all += pages(t, s, asksSQL, []string{string(phone)}, []string{asks}, int32(session.MostOfMember), int64(0))
		all += pages(t, s, writeSQL, arrays([]*job{{x: x}})...)
	}
	return float64(all) / exchanges
}

var buffers = regexp.MustCompile(`(?:hit|read)=(\d+)`)

// pages is how many a statement touches, by the database's own count. The first
// line of it that has any is of the whole statement.
func pages(t *testing.T, s *Store, sql string, args ...any) (n int) {
	t.Helper()
	var plan []string
	if err := each(t.Context(), s.pool, "explain (analyze, buffers, costs off, timing off) "+sql, args, func(r pgx.Rows) error {
		var line string
		err := r.Scan(&line)
		plan = append(plan, line)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	for _, line := range plan {
		if strings.Contains(line, "Seq Scan") {
			t.Errorf("a table is read through:\n%s", strings.Join(plan, "\n"))
		}
	}
	for _, line := range plan {
		if found := buffers.FindAllStringSubmatch(line, -1); found != nil {
			for _, f := range found {
				m, _ := strconv.Atoi(f[1])
				n += m
			}
			return n
		}
	}
	return 0
}
