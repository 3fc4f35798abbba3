package config

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"threshline/gateway/carrier"
	"threshline/grading"
	"threshline/grading/sampling"
	"threshline/grading/standard"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/wording"
)

// Build makes what the dialogue is handed from the configuration: what the
// programme has set, and its words.
func (c *Config) Build() (*programme.Programme, *wording.Catalogue, error) {
	words, err := c.words()
	if err != nil {
		return nil, nil, err
	}
	p, err := c.scheme(words)
	return p, words, err
}

func (c *Config) scheme(words *wording.Catalogue) (*programme.Programme, error) {
	s, err := c.Standard()
	if err != nil {
		return nil, err
	}
	settings, err := c.Settings()
	if err != nil {
		return nil, fmt.Errorf("configuration: %w", err)
	}
	for label := range settings.Prices {
		if !hasGrade(s, label) {
			return nil, &fault{
				fmt.Errorf("[prices] %q is not a grade of %s", label, s.ID),
				"its grades are " + strings.Join(gradeLabels(s), ", "),
			}
		}
	}
	if _, err := c.SamplingChoice(); err != nil {
		return nil, err
	}
	bag, err := amount(c.Programme.BagKG)
	if err != nil {
		return nil, fmt.Errorf("[programme] bag_kg: %w", err)
	}
	zone, err := time.LoadLocation(c.Programme.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("[programme] time_zone: %w", err)
	}
	p := &programme.Programme{
		Name: c.Programme.Name, Region: c.Programme.Region, Currency: c.Programme.Currency,
		Zone: zone, BagKG: bag, Standard: s, Advice: settings,
		Districts: c.Programme.Districts, SamplingPlan: c.Programme.SamplingPlan, SamplingPurpose: c.Programme.Sampling,
		ConsentVersion: c.Programme.Consent, ShortCode: c.Programme.ShortCode, KitAt: c.Programme.KitAt,
		ResumeFor: time.Duration(c.Programme.ResumeFor), DraftFor: time.Duration(c.Programme.DraftFor),
		CorrectFor: time.Duration(c.Programme.CorrectFor), KeepPeopleFor: time.Duration(c.Programme.KeepPeople) * 24 * time.Hour,
	}
	if err := c.SetMeters(p); err != nil {
		return nil, err
	}
	for _, lang := range c.Programme.Languages {
		if !slices.Contains(words.Languages(), lang) {
			return nil, &fault{
				fmt.Errorf("[programme] there is no wording for language %q", lang),
				"there are catalogues for " + strings.Join(words.Languages(), ", "),
			}
		}
		p.Languages = append(p.Languages, session.Language(lang))
	}
	return p, nil
}

// SamplingChoice is the plan by which bags are speared.
func (c *Config) SamplingChoice() (choice sampling.Choice, err error) {
	if _, err := sampling.For(sampling.Purpose(c.Programme.Sampling)); err != nil {
		return choice, fmt.Errorf("[programme] sampling_purpose: %w", err)
	}
	choice, err = sampling.Choose(sampling.PlanID(c.Programme.SamplingPlan), sampling.Purpose(c.Programme.Sampling))
	if err != nil {
		return choice, fmt.Errorf("[programme] sampling_plan: %w", err)
	}
	return choice, nil
}

// Standard finds the standard in force: a built-in id, or a file of the
// programme's own, beside the configuration.
func (c *Config) Standard() (*grading.Standard, error) {
	s, err := FindStandard(c.Programme.Standard, c.Dir)
	if err != nil || c.Programme.MeterStep == 0 {
		return s, err
	}
	step, err := amount(c.Programme.MeterStep)
	if err != nil {
		return nil, fmt.Errorf("[programme] meter_step: %w", err)
	}
	return s.WithMeterStep(step), nil
}

// FindStandard finds a standard that is built in, or its file, beside dir.
func FindStandard(name, dir string) (*grading.Standard, error) {
	s, err := standard.ByID(name)
	if err == nil {
		return s, nil
	}
	if !errors.Is(err, standard.ErrUnknown) {
		return nil, err
	}
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(dir, path)
	}
	data, readErr := os.ReadFile(path)
	if readErr != nil {
		return nil, &fault{
			fmt.Errorf("there is no standard %q, neither built in nor as a file", name),
			"`threshline standards` lists those that are built in",
		}
	}
	return standard.Load(path, data, standard.ByID)
}

func (c *Config) words() (*wording.Catalogue, error) {
	words, err := wording.Embedded()
	if err != nil || c.Programme.WordingDir == "" {
		return words, err
	}
	dir := c.Programme.WordingDir
	if !filepath.IsAbs(dir) {
		dir = filepath.Join(c.Dir, dir)
	}
	return wording.Load(words, os.DirFS(dir))
}

func hasGrade(s *grading.Standard, label grading.GradeLabel) bool {
	return slices.ContainsFunc(s.Grades, func(g grading.GradeRow) bool { return g.Label == label })
}

func gradeLabels(s *grading.Standard) (labels []string) {
	for _, g := range s.Grades {
		labels = append(labels, string(g.Label))
	}
	return labels
}

// RosterRules are what a roster must keep to, but for the meters that the desk keeps.
func (c *Config) RosterRules() programme.RosterRules {
	rules := programme.RosterRules{Districts: c.Programme.Districts, Meters: c.meterNames(), Number: func(raw string) (session.Phone, error) {
		return carrier.ParseNumber(raw, c.Programme.Region)
	}}
	for _, lang := range c.Programme.Languages {
		rules.Languages = append(rules.Languages, session.Language(lang))
	}
	return rules
}
