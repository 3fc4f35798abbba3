// Package config reads a programme's configuration file, and makes of it what the
// gateway and the dialogue are handed.
package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"threshline/advice"
	"threshline/cmd/threshline/demo"
	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/grading"
)

// Config is a programme's configuration file, as documented in README.md.
type Config struct {
	Programme Programme          `toml:"programme"`
	Prices    map[string]float64 `toml:"prices"`
	Money     Money              `toml:"money"`
	Tariffs   []Tariff           `toml:"tariff"`
	Assumed   Assumed            `toml:"assumed"`
	Work      []Work             `toml:"work"`
	Climate   []Month            `toml:"climate"`
	Meters    []Meter            `toml:"meter"`
	Store     Store              `toml:"store"`
	Backup    Backup             `toml:"backup"`
	Listen    Listen             `toml:"listen"`
	Desk      Desk               `toml:"desk"`
	Limits    Limits             `toml:"limits"`
	Quiet     Quiet              `toml:"quiet"`
	Channels  []carrier.Config   `toml:"channel"`

	Dir string `toml:"-"` // where the file lies: paths in it are relative to that
}

// Programme is the programme itself: what it is called, speaks and grades by.
type Programme struct {
	Name         string   `toml:"name"`
	Standard     string   `toml:"standard"`
	Region       string   `toml:"region"`
	Languages    []string `toml:"languages"`
	Currency     string   `toml:"currency"`
	TimeZone     string   `toml:"time_zone"`
	BagKG        float64  `toml:"bag_kg"`
	Districts    []string `toml:"districts"`
	SamplingPlan string   `toml:"sampling_plan"`
	Sampling     string   `toml:"sampling_purpose"`
	ShortCode    string   `toml:"short_code"`
	KitAt        string   `toml:"kit_at"` // where a grower finds somebody with the kit
	WordingDir   string   `toml:"wording_dir"`
	Consent      int      `toml:"consent_version"`
	ResumeFor    Duration `toml:"resume_for"`
	DraftFor     Duration `toml:"draft_for"`
	CorrectFor   Duration `toml:"correct_for"`
	KeepPeople   int      `toml:"keep_people_days"` // 0 keeps them for ever
	MeterSpread  float64  `toml:"meter_repeatability"`
	MeterStep    float64  `toml:"meter_step"`  // that the mean of readings is compared at, where the standard does not say
	MeterBias    *float64 `toml:"meter_bias"`  // of all meters that have no [[meter]] of their own
	MeterDoubt   float64  `toml:"meter_doubt"` // of that bias; 0 is the default
	ScaleStep    float64  `toml:"scale_step_g"`
	LearnUsual   bool     `toml:"learn_usual"` // what lots usually hold, from the programme's own checks
}

// Money is what the ranking of remedies by money needs besides prices.
type Money struct {
	OutPrice   float64     `toml:"out_of_grade_price"`
	DayWage    float64     `toml:"day_wage"`
	SeedPrice  float64     `toml:"seed_price"`
	SeedPerHa  float64     `toml:"seed_kg_per_ha"`
	YieldPerHa float64     `toml:"yield_t_per_ha"`
	Deductions []Deduction `toml:"moisture_deduction"`
}

// Deduction is what a buyer takes off for water, percent of the price.
type Deduction struct {
	Over float64 `toml:"over"`
	UpTo float64 `toml:"up_to"`
	Cut  float64 `toml:"cut_percent"`
}

// Meter is a moisture meter that was put beside an oven, or beside a meter
// that was.
type Meter struct {
	Name      string  `toml:"name"`
	Bias      float64 `toml:"bias"`  // what it reads above the oven, points
	Doubt     float64 `toml:"doubt"` // standard deviation of that; 0 is the default
	CheckedOn string  `toml:"checked_on"`
	GoodUntil string  `toml:"good_until"`
}

// Month is what the air of a month is like.
type Month struct {
	Month    int     `toml:"month"`
	Celsius  float64 `toml:"celsius"`
	Humidity float64 `toml:"humidity_percent"`
}

// Store is where everything is kept.
type Store struct {
	Engine string `toml:"engine"`
	Path   string `toml:"path"`
	// Journal is a second, plain file of checks and people, best on another
	// disk; empty keeps none.
	Journal string `toml:"journal"`
	MaxMB   int    `toml:"max_mb"` // bound of the file; 0 is none but the disk's

	// URL leads to a PostgreSQL database: env:NAME or file:PATH, since it holds
	// a password. Several hosts in it are primary and standby.
	URL         string   `toml:"url"`
	Schema      string   `toml:"schema"`
	Connections int      `toml:"connections"`
	Statement   Duration `toml:"statement_timeout"`
	Lock        Duration `toml:"lock_timeout"`
	Idle        Duration `toml:"idle_timeout"` // in a transaction
}

// Listen is where the gateway answers.
type Listen struct {
	Address string `toml:"address"`
	TLSCert string `toml:"tls_cert"`
	TLSKey  string `toml:"tls_key"`
	// MetricsToken is a secret (env:NAME or file:PATH) that /metrics asks for.
	MetricsToken string `toml:"metrics_token"`
}

// Limits bounds what one phone and one channel may send; what is left
// out stays at the gateway's own default.
type Limits struct {
	PhoneBurst       int      `toml:"phone_burst"` // messages at once, then one every phone_every
	PhoneEvery       Duration `toml:"phone_every"`
	PhonePerDay      int      `toml:"phone_per_day"`
	ChannelPerSecond float64  `toml:"channel_per_second"`
	InFlight         int      `toml:"in_flight"` // exchanges under way at once
}

// Quiet is when reminders wait, in the programme's time zone, "21:00".
type Quiet struct {
	From string `toml:"from"`
	To   string `toml:"to"`
}

// Backup plans backups while the gateway serves.
type Backup struct {
	Every Duration `toml:"every"` // 0 plans none
	Keep  int      `toml:"keep"`  // how many are kept
	Dir   string   `toml:"dir"`
}

// Desk is how people reach the desk; it is needed only when a proxy of
// ours is in front of the gateway.
type Desk struct {
	// BehindTLS: browsers talk TLS to the proxy, so that cookies are for TLS only.
	BehindTLS bool `toml:"behind_tls"`
	// Proxies is how many proxies of ours add to X-Forwarded-For.
	Proxies int `toml:"proxies"`
	// OneFactor: administrators may sign in without a second factor.
	OneFactor bool `toml:"one_factor"`
}

// Duration reads Go's notation, such as "48h" or "30m".
type Duration time.Duration

func (d *Duration) UnmarshalText(b []byte) error {
	v, err := time.ParseDuration(string(b))
	if err != nil {
		return fmt.Errorf("want a duration such as \"48h\" or \"30m\", got %q", b)
	}
	*d = Duration(v)
	return nil
}

// defaultConfig holds what a configuration file may leave out.
func defaultConfig() Config {
	return Config{
		Programme: Programme{
			Languages: []string{"en"}, TimeZone: "UTC", Consent: 1, LearnUsual: true,
			ResumeFor: Duration(24 * time.Hour), DraftFor: Duration(72 * time.Hour), CorrectFor: Duration(48 * time.Hour),
		},
		Store:  Store{Engine: "bbolt", Path: "threshline.db"},
		Backup: Backup{Keep: 14, Dir: "backups"},
		Listen: Listen{Address: "127.0.0.1:8080"},
		Quiet:  Quiet{From: "20:00", To: "07:00"},
	}
}

// Load reads and validates a configuration file.
func Load(path string) (*Config, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &fault{fmt.Errorf("configuration: %w", err), "README.md holds a complete example"}
	}
	cfg, err := Parse(path, data)
	if err != nil {
		return nil, err
	}
	cfg.Dir = filepath.Dir(path)
	return cfg, nil
}

// renamedKeys are keys of earlier configurations under their new names.
var renamedKeys = map[string]string{
	"programme.mend_for": "correct_for", "programme.balance_step_g": "scale_step_g",
}

// Parse reads a configuration strictly: an unknown key is an error with
// its line.
func Parse(name string, data []byte) (*Config, error) {
	cfg := defaultConfig()
	err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&cfg)
	var unknown *toml.StrictMissingError
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		first := unknown.Errors[0]
		row, column := first.Position()
		if now := renamedKeys[strings.Join(first.Key(), ".")]; now != "" {
			return nil, &fault{fmt.Errorf("%s:%d:%d: %q is now called %q", name, row, column, strings.Join(first.Key(), "."), now), "write the new name; the value stays"}
		}
		return nil, &fault{
			fmt.Errorf("%s:%d:%d: unknown key %q", name, row, column, strings.Join(first.Key(), ".")),
			"a key is spelt wrongly or stands in the wrong table; README.md lists them all",
		}
	case errors.As(err, &wrong):
		row, column := wrong.Position()
		return nil, fmt.Errorf("%s:%d:%d: %s", name, row, column, wrong.Error())
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := cfg.validate(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return &cfg, nil
}

// validate finds what is missing or contradicts itself; channels validate
// themselves when they are built.
func (c *Config) validate() error {
	var problems []error
	want := func(ok bool, format string, args ...any) {
		if !ok {
			problems = append(problems, fmt.Errorf(format, args...))
		}
	}
	p := c.Programme
	want(p.Name != "", "[programme] name is missing: what is the programme called?")
	want(p.Standard != "", "[programme] standard is missing: a built-in id (`threshline standards` lists them) or the path of a standard file")
	want(len(p.Languages) > 0, "[programme] languages is empty: want codes such as [\"en\", \"sw\"]")
	want(p.BagKG >= 0 && p.BagKG <= 1000, "[programme] bag_kg is %v: want kg of one bag, 0 to 1000", p.BagKG)
	want(p.KeepPeople == 0 || p.KeepPeople >= leastKept, "[programme] keep_people_days is %d: want 0, for ever, or %d and more", p.KeepPeople, leastKept)
	kitAt, sendable := gsm.Count(p.KitAt)
	want(sendable && kitAt <= longestKitAt, "[programme] kit_at is %q: want at most %d letters of a basic phone, such as \"Kisima store, Mondays\"", p.KitAt, longestKitAt)
	if _, err := time.LoadLocation(p.TimeZone); err != nil {
		want(false, "[programme] time_zone %q is not known: want a name such as \"Africa/Dar_es_Salaam\"", p.TimeZone)
	}
	problems = append(problems, c.Store.validate()...)
	want(c.Backup.Every >= 0 && c.Backup.Keep >= 1 && c.Backup.Dir != "", "[backup] wants every = \"24h\" or so, keep of 1 or more, and a dir")
	want((c.Listen.TLSCert == "") == (c.Listen.TLSKey == ""), "[listen] tls_cert and tls_key go together")
	l := c.Limits
	want(l.PhoneBurst >= 0 && l.PhoneEvery >= 0 && l.PhonePerDay >= 0 && l.ChannelPerSecond >= 0 && l.InFlight >= 0, "[limits] holds a number below 0")
	want(l.ChannelPerSecond == 0 || l.ChannelPerSecond >= leastRate && l.ChannelPerSecond <= mostRate, "[limits] channel_per_second is %v: want %v to %v, or 0 for no limit", l.ChannelPerSecond, leastRate, mostRate)
	want(l.PhonePerDay <= mostADay, "[limits] phone_per_day is %d: want at most %d", l.PhonePerDay, mostADay)
	want((l.PhoneBurst > 0) == (l.PhoneEvery > 0), "[limits] phone_burst and phone_every go together")
	want(len(c.Channels) > 0, "there is no [[channel]]: nothing could come in")
	for _, m := range c.Climate {
		want(m.Month >= 1 && m.Month <= 12, "[[climate]] month is %d: want 1 to 12", m.Month)
		want(m.Humidity > 0 && m.Humidity < 100, "[[climate]] humidity_percent of month %d is %v: want between 0 and 100", m.Month, m.Humidity)
	}
	problems = append(problems, c.meterProblems()...)
	for label, price := range c.Prices {
		want(price > 0, "[prices] %q is %v: want money per kg over 0", label, price)
	}
	return errors.Join(append(problems, c.checkMoney())...)
}

// validate finds what contradicts itself about the store.
func (s Store) validate() (problems []error) {
	want := func(ok bool, format string, args ...any) {
		if !ok {
			problems = append(problems, fmt.Errorf("[store] "+format, args...))
		}
	}
	shared := s.Engine == DatabaseEngine
	want(shared || s.Engine == FileEngine, "engine %q is not known: want %q or %q", s.Engine, FileEngine, DatabaseEngine)
	want(s.MaxMB >= 0, "max_mb is %d: want megabytes, or 0 for no bound", s.MaxMB)
	want(shared == (s.URL != ""), "url goes with engine = %q, and that with a url", DatabaseEngine)
	want(s.Connections == 0 || s.Connections >= leastConnections, "connections is %d: want %d or more", s.Connections, leastConnections)
	want(s.Statement >= 0 && s.Lock >= 0 && s.Idle >= 0, "statement_timeout, lock_timeout and idle_timeout cannot be below 0")
	return problems
}

// leastConnections is the fewest connections to a database that a gateway can
// work with.
const leastConnections = 8

// What a limit can be set to. A channel's, a second: one message in a quarter of
// an hour, and more than any machine takes. A phone's, a day. Source: assumed.
const (
	leastRate = 0.001
	mostRate  = 1_000_000.0
	mostADay  = 1_000_000_000
)

// leastKept is the shortest time, in days, for which names and numbers can be
// kept: long enough that nobody loses a check or message that is under way.
// Source: assumed.
const leastKept = 30

// longestKitAt is how many septets of kit_at an answer has room for.
const longestKitAt = 60

// Channel finds a channel by name; the first when the name is empty.
func (c *Config) Channel(name string) (carrier.Config, error) {
	var names []string
	for _, ch := range c.Channels {
		if name == "" || ch.Name == name {
			return ch, nil
		}
		names = append(names, ch.Name)
	}
	return carrier.Config{}, &fault{
		fmt.Errorf("there is no channel %q", name), "the configuration has " + strings.Join(names, ", "),
	}
}

// LoadOrDemo reads a configuration file; the demonstration's when path is
// empty.
func LoadOrDemo(path string) (*Config, error) {
	if path == "" {
		return Parse("demo.toml", demo.Config)
	}
	return Load(path)
}

// amount makes the exact number of a configuration's decimal.
func amount(f float64) (grading.Decimal, error) {
	return grading.ParseDecimal(strconv.FormatFloat(f, 'f', -1, 64))
}

// Settings is the part of the configuration that ranks remedies.
func (c *Config) Settings() (s advice.Settings, err error) {
	exact := func(f float64) (d grading.Decimal) {
		d, e := amount(f)
		err = errors.Join(err, e)
		return d
	}
	if len(c.Prices) > 0 {
		s.Prices = map[grading.GradeLabel]grading.Decimal{}
		for label, price := range c.Prices {
			s.Prices[grading.GradeLabel(label)] = exact(price)
		}
	}
	s.Seed = advice.SeedCost{Price: exact(c.Money.SeedPrice), PerHa: exact(c.Money.SeedPerHa), YieldPerHa: 1000 * exact(c.Money.YieldPerHa)}
	err = errors.Join(err, c.tariffs(&s), c.own(&s))
	s.OutPrice, s.DayWage = exact(c.Money.OutPrice), exact(c.Money.DayWage)
	s.MeterRepeatability, s.ScaleStep = exact(c.Programme.MeterSpread), exact(c.Programme.ScaleStep)
	for _, d := range c.Money.Deductions {
		s.Deductions = append(s.Deductions, advice.Deduction{Over: exact(d.Over), UpTo: exact(d.UpTo), Cut: exact(d.Cut)})
	}
	for _, m := range c.Climate {
		s.Climate[m.Month-1] = advice.Month{Celsius: m.Celsius, Humidity: m.Humidity / 100}
	}
	return s, err
}

// Everywhere names the channels that send to mobile numbers of all countries.
func (c *Config) Everywhere() (names []string) {
	for _, ch := range c.Channels {
		if ch.Send != nil && cmp.Or(ch.Region, c.Programme.Region) == "" && len(ch.AllowPrefixes) == 0 {
			names = append(names, ch.Name)
		}
	}
	return names
}
