// Package wording holds what the gateway says, per language and by key.
package wording

// Catalogue is the wording of every language.
type Catalogue struct{}
