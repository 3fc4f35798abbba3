// Package dry has the screens that say how far to dry a lot, and what will be left
// of it, without a check.
package dry
