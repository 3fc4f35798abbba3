// Package signs reads what people say they saw and smelt of a lot, and says it
// back.
package signs
