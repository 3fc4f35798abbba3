// Package paper is what every page of the desk is made of: tables and their
// cells, the words for ids and figures, the faults as a reader is told of them,
// and the templates and files that are built in.
//
// It knows no visitor and no page.
package paper
