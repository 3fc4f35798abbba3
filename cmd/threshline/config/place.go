package config

import (
	"crypto/tls"
	"fmt"
	"path/filepath"

	"threshline/gateway/carrier"
)

// The engines' names in the configuration.
const (
	FileEngine     = "bbolt"
	DatabaseEngine = "postgres"
)

// StorePath is where the store's file lies.
func (c *Config) StorePath() string { return c.Beside(c.Store.Path) }

// LocalSocket is where a person at the machine reaches a running gateway: a
// socket that only its own user and root can open.
func (c *Config) LocalSocket() string { return c.StorePath() + ".socket" }

// Beside is where a path of the configuration leads: beside the file, unless
// it is absolute.
func (c *Config) Beside(path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(c.Dir, path)
}

// Where says where the store is, for the log.
func (c *Config) Where(path string) string {
	if c.Store.Engine == DatabaseEngine {
		return DatabaseEngine + " " + c.Store.URL // a reference, not the address itself
	}
	return path
}

// URL is the address of this configuration's gateway on this machine.
func (c *Config) URL() string {
	if c.Listen.TLSCert != "" {
		return "https://" + c.Listen.Address
	}
	return "http://" + c.Listen.Address
}

// DatabaseURL is the address of the database; it holds a password.
func (c *Config) DatabaseURL() (string, error) {
	url, err := carrier.Secrets(c.Dir)(c.Store.URL)
	if err != nil {
		return "", fmt.Errorf("[store] url: %w", err)
	}
	return url, nil
}

// MetricsToken looks up the token for /metrics; empty when it needs none.
func (c *Config) MetricsToken() (string, error) {
	if c.Listen.MetricsToken == "" {
		return "", nil
	}
	token, err := carrier.Secrets(c.Dir)(c.Listen.MetricsToken)
	if err != nil {
		return "", fmt.Errorf("[listen] metrics_token: %w", err)
	}
	return token, nil
}

// Certificate loads the certificate of [listen], nil when none is named.
func (c *Config) Certificate() (*tls.Certificate, error) {
	if c.Listen.TLSCert == "" {
		return nil, nil
	}
	cert, err := tls.LoadX509KeyPair(c.Beside(c.Listen.TLSCert), c.Beside(c.Listen.TLSKey))
	if err != nil {
		return nil, fmt.Errorf("[listen] tls_cert, tls_key: %w", err)
	}
	return &cert, nil
}
