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
	"threshline/session"
	"threshline/session/programme"
)

const (
	// learnEvery is how often a station that runs learns anew what lots usually hold.
	learnEvery = 24 * time.Hour
	// learntLook is how often a gateway looks whether another has learnt for all.
	learntLook = 5 * time.Minute
	// learnWithin is how long it may take before another gateway takes it over;
	// it takes a second (assumed).
	learnWithin = 5 * time.Minute
)

// learnLook is how often a station sees to what lots usually hold.
func (s *station) learnLook() time.Duration {
	if _, shared := s.store.(common); shared {
		return learntLook
	}
	return learnEvery
}

// learn finds what the programme's lots usually hold from the newest checks in
// the store, nothing when they are too few or the programme does not want it.
// Gateways over one database learn once for all, so that a lot is graded alike
// by each.
func (s *station) learn(ctx context.Context) (map[grading.Field]chance.Usual, error) {
	if !s.cfg.Programme.LearnUsual {
		return nil, nil
	}
	if d, shared := s.store.(common); shared {
		return s.learnForAll(ctx, d)
	}
	return s.learnHere(ctx)
}

// learnForAll learns when it is due and no other gateway does, and gives what
// was learnt last, by whichever gateway.
func (s *station) learnForAll(ctx context.Context, d common) (usual map[grading.Field]chance.Usual, err error) {
	work := s.learning()
	lease, err := d.Begin(ctx, work, learnEvery, learnWithin)
	if err != nil {
		return nil, err
	}
	if lease.Held() {
		if err := s.learnUnder(ctx, d, lease); err != nil {
			return nil, err
		}
	}
	result, err := d.Result(ctx, work)
	if err != nil || result == nil {
		return nil, err
	}
	if err := json.Unmarshal(result, &usual); err != nil {
		return nil, fmt.Errorf("what another gateway has learnt: %w", err)
	}
	return usual, nil
}

// learnUnder learns for all gateways. When another has taken the work over
// meanwhile, what that one learnt counts.
func (s *station) learnUnder(ctx context.Context, d common, lease session.Lease) error {
	usual, err := s.learnHere(ctx)
	if err != nil {
		return errors.Join(err, d.End(context.WithoutCancel(ctx), lease, false, nil))
	}
	result, err := json.Marshal(usual)
	if err != nil {
		return err
	}
	if err := d.End(ctx, lease, true, result); !errors.Is(err, session.ErrConflict) {
		return err
	}
	return nil
}

// learning names what is learnt: by another standard or procedure the same lots
// teach something else.
func (s *station) learning() string {
	return fmt.Sprintf("learning by %s, %s, procedure %d", s.programme.Standard.ID, s.programme.Standard.Edition, session.Procedure)
}

// learnHere learns from the newest checks in the store.
func (s *station) learnHere(ctx context.Context) (map[grading.Field]chance.Usual, error) {
	checks, err := s.store.Newest(ctx, programme.LearnMost)
	if err != nil {
		return nil, err
	}
	usual, n := s.programme.Learn(checks, s.clock.Sure())
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
		old.log.Error().Err(err).Msg("learning what lots usually hold failed: what was known stays in force")
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
