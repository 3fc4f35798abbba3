// Package figure has the arithmetic of figures over many checks: shares with their
// intervals, how values lie, and how likely chance alone makes what is found.
package figure
