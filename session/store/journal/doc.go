// Package journal keeps every check and every person a second time, in the
// order in which they were stored, in a plain file that a store can be made of.
package journal
