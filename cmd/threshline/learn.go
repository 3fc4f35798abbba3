package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"time"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session/programme"
)

// learnEvery is how often a station that runs learns anew what lots usually hold.
const learnEvery = 24 * time.Hour

// learn finds what the programme's lots usually hold from the newest checks in
// the store, nothing when they are too few or the programme does not want it.
func (s *station) learn(ctx context.Context) (map[grading.Field]chance.Usual, error) {
	if !s.cfg.Programme.LearnUsual {
		return nil, nil
	}
	checks, err := s.store.Newest(ctx, programme.LearnMost)
	if err != nil {
		return nil, err
	}
	usual, n := s.programme.Learn(checks)
	said := "learnt what lots usually hold"
	if len(usual) == 0 {
		said = "too few checks yet to learn what lots usually hold"
	}
	s.log.Info().Int("checks", n).Int("needed", programme.LearnFrom).Msg(said)
	return usual, nil
}

// teach gives a programme that is not in use yet what was learnt, and the
// meters that the desk keeps.
func (s *station) teach(ctx context.Context) (err error) {
	if s.programme.Meters, err = s.meters(ctx); err != nil {
		return err
	}
	s.programme.Advice.Usual, err = s.learn(ctx)
	return err
}

// relearnt is a station with what was learnt since; nil when nothing has
// changed. A programme in use is never changed: there is a new one, and with it
// a new dialogue, over the same store, ledger and queue.
func (s *station) relearnt(ctx context.Context) (*station, error) {
	usual, err := s.learn(ctx)
	if err != nil || maps.Equal(usual, s.programme.Advice.Usual) {
		return nil, err
	}
	next, programme := *s, *s.programme
	programme.Advice.Usual = usual
	next.programme = &programme
	return &next, next.assemble()
}

// relearn goes on with what was learnt since the last time.
func (l *live) relearn(ctx context.Context) {
	old := l.now.Load()
	next, err := old.relearnt(ctx)
	switch {
	case err != nil:
		old.log.Error().Err(err).Msg("what lots usually hold was not learnt anew: what was known stays in force")
	case next != nil:
		l.swap(ctx, next)
	}
}

// usualOf learns what lots usually hold from a file of earlier ones. They are of one
// edition of the procedure: other hands' work gives other readings of the same lots.
func usualOf(path string, c chance.Certainty) (map[grading.Field]chance.Usual, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	var lots []grading.Readings
	edition := ""
	for dec := json.NewDecoder(file); ; {
		r, others, err := grading.ReadJSON(dec)
		if errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			break
		}
		if err == nil {
			err = r.Check()
		}
		if err != nil {
			return nil, fmt.Errorf("%s, lot %d: %w", path, len(lots)+1, err)
		}
		of := string(others["procedure"])
		if len(lots) > 0 && of != edition {
			return nil, &fault{
				fmt.Errorf("%s, lot %d: its procedure is %s, that of the lots before it %s", path, len(lots)+1, cmp.Or(of, "not named"), cmp.Or(edition, "not named")),
				"give lots of one edition of the procedure: learning does not mix them",
			}
		}
		edition = of
		lots = append(lots, r)
	}
	if len(lots) < programme.LearnFrom {
		return nil, &fault{
			fmt.Errorf("%s holds %d lots, too few to learn from", path, len(lots)),
			fmt.Sprintf("it takes %d: fewer teach something false", programme.LearnFrom),
		}
	}
	return chance.UsualOf(lots, c), nil
}
