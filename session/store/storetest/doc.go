// Package storetest holds what every storage engine must do, as one suite of
// tests, and sample records for tests of engines and of what stands on them.
package storetest
