// Package answer has the screens that a filed check is shown on: its grade, what
// holds that down, what to do, and what came of it.
package answer
