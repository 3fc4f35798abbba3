// Package hands counts how far checks by hand reached, and how well they did beside
// the checks with the kit that came after them.
package hands
