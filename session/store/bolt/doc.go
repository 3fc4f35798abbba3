// Package bolt keeps a programme in one file, for one gateway on one machine.
package bolt
