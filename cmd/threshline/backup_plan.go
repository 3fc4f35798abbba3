package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"threshline/cmd/threshline/config"
)

// backupPlan is when and where backups are made.
type backupPlan struct {
	dir   string
	every time.Duration
	keep  int
}

// backupLook is how often we check whether a backup is due.
const backupLook = time.Minute

// backupWithin is how long a gateway may work on a backup before another
// gateway of the same database takes it over: a thousand checks take a second,
// assumed.
const backupWithin = time.Hour

// A planned backup's name holds its time, so that names sort by it.
const (
	backupPrefix = "threshline-"
	backupSuffix = ".db"
	backupTime   = "20060102T150405Z"
)

// plannedBackups is the configuration's; nil when it plans none.
func plannedBackups(c *config.Config) *backupPlan {
	if c.Backup.Every <= 0 {
		return nil
	}
	return &backupPlan{c.Beside(c.Backup.Dir), time.Duration(c.Backup.Every), c.Backup.Keep}
}

// backuper writes a verified copy of the store: an engine.
type backuper interface {
	BackupFile(ctx context.Context, path string) error
}

// round makes a backup if one is due at now, then deletes the oldest beyond the
// number to keep. It returns the path of the new backup, or "". After the clock
// was set back the next backup is due at once, and no newer one is deleted.
func (p *backupPlan) round(ctx context.Context, store backuper, now time.Time, finish func() error) (made string, dropped int, err error) {
	now = now.UTC()
	before, err := p.list()
	if err != nil {
		return "", 0, err
	}
	if !p.due(before, now) {
		return "", 0, nil
	}
	if err := os.MkdirAll(p.dir, 0o700); err != nil {
		return "", 0, fmt.Errorf("backup: %w", err)
	}
	if err := p.tidy(); err != nil {
		return "", 0, err
	}
	past := slices.DeleteFunc(before, func(t time.Time) bool { return !t.Before(now) })
	// First delete what earlier rounds had no time to delete, so that a program
	// that is stopped again and again does not fill the disk.
	past, dropped, err = p.drop(past, p.keep)
	if err != nil {
		return "", dropped, err
	}
	made = filepath.Join(p.dir, backupPrefix+now.Format(backupTime)+backupSuffix)
	if err := store.BackupFile(ctx, made); err != nil {
		return "", dropped, err
	}
	if err := finish(); err != nil {
		return "", dropped, errors.Join(err, os.Remove(made)) // another gateway makes it
	}
	_, after, err := p.drop(past, p.keep-1) // never the one just made
	return made, dropped + after, err
}

// drop removes the oldest backups until most are left.
func (p *backupPlan) drop(past []time.Time, most int) (left []time.Time, dropped int, err error) {
	for len(past) > most {
		if err := os.Remove(filepath.Join(p.dir, backupPrefix+past[0].Format(backupTime)+backupSuffix)); err != nil {
			return past, dropped, fmt.Errorf("backup: %w", err)
		}
		past, dropped = past[1:], dropped+1
	}
	return past, dropped, nil
}

// due reports whether the newest backup that is not of the future is too old.
func (p *backupPlan) due(before []time.Time, now time.Time) bool {
	for _, t := range slices.Backward(before) {
		if !t.After(now) {
			return now.Sub(t) >= p.every
		}
	}
	return true
}

// list returns the times of the existing backups, oldest first. It ignores
// files with other names.
func (p *backupPlan) list() (times []time.Time, err error) {
	entries, err := os.ReadDir(p.dir)
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	for _, e := range entries {
		stamp, ok := strings.CutPrefix(strings.TrimSuffix(e.Name(), backupSuffix), backupPrefix)
		if t, err := time.Parse(backupTime, stamp); ok && err == nil && strings.HasSuffix(e.Name(), backupSuffix) {
			times = append(times, t)
		}
	}
	slices.SortFunc(times, time.Time.Compare)
	return times, nil
}

// tidy removes what an interrupted backup left behind.
func (p *backupPlan) tidy() error {
	parts, err := filepath.Glob(filepath.Join(p.dir, backupPrefix+"*"+backupSuffix+".part"))
	for _, part := range parts {
		err = errors.Join(err, os.Remove(part))
	}
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return nil
}

// backupRound is the plan as one of the station's loops.
func (s *station) backupRound(ctx context.Context) (bool, error) {
	begin, plan := time.Now(), *s.backups
	if s.clock.Doubt() != "" {
		plan.keep = math.MaxInt // none is too old by a clock that is not believed
	}
	made, dropped := "", 0
	err := s.once(ctx, "backup", plan.every, backupWithin, func(finish func() error) (err error) {
		made, dropped, err = plan.round(ctx, s.store, s.clock.Now(), finish)
		return err
	})
	if err != nil {
		s.watch.Failed("make the planned backup", err)
	}
	if made != "" {
		s.log.Info().Str("backup", made).Int("dropped", dropped).Dur("took_ms", time.Since(begin)).Msg("backup made and verified")
	}
	return false, err
}
