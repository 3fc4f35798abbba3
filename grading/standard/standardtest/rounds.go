package standardtest

import (
	"os"
	"strconv"
)

// Rounds is how often a test of chance draws: usual, or as many times that as ROUNDS
// in the environment says.
func Rounds(usual int) int {
	if times, err := strconv.Atoi(os.Getenv("ROUNDS")); err == nil && times > 0 {
		return times * usual
	}
	return usual
}
