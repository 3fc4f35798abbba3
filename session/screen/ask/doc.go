// Package ask has what all screens ask and read with: choices, a yes or a no,
// numbers, and the question whether something else was meant.
package ask
