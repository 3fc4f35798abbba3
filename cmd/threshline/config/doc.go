// Package config reads a programme's configuration file, and makes of it what the
// gateway and the dialogue are handed.
package config
