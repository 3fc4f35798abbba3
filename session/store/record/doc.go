// Package record writes what is stored as bytes and reads it back, field by
// field, for every engine that keeps it so.
package record
