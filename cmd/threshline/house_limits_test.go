package main

import (
	"go/ast"
	"go/token"
	"slices"
	"strings"
	"testing"
)

// TestOnlyGradingComparesAValueWithALimit: there is one truth about grades. A
// second one begins with a value held against Bound.Min or Max, so nobody else
// writes such a comparison, nor asks whether a limit itself still keeps it but to
// show a sign. Limits that are numbers of the program's own are not meant.
func TestOnlyGradingComparesAValueWithALimit(t *testing.T) {
	files, set := parseModule(t)
	looked := 0
	for _, f := range files {
		if f.test || f.pkg == "grading" || strings.HasPrefix(f.pkg, "grading/") {
			continue
		}
		looked++
		ast.Inspect(f.tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BinaryExpr:
				compares := slices.Contains([]token.Token{token.LSS, token.LEQ, token.GTR, token.GEQ}, n.Op)
				if compares && (isLimit(n.X) || isLimit(n.Y)) {
					t.Errorf("%s compares with a limit of a table: only grading may", set.Position(n.Pos()))
				}
				joins := n.Op == token.LAND || n.Op == token.LOR
				if joins && (isExclusive(n.X) || isExclusive(n.Y)) {
					t.Errorf("%s decides whether a limit is kept: only grading may", set.Position(n.Pos()))
				}
			case *ast.CallExpr:
				if called, ok := n.Fun.(*ast.SelectorExpr); ok && (called.Sel.Name == "Cmp" || called.Sel.Name == "CmpRatio" || called.Sel.Name == "Compare") &&
					slices.ContainsFunc(n.Args, isLimit) {
					t.Errorf("%s compares with a limit of a table: only grading may", set.Position(n.Pos()))
				}
			}
			return true
		})
	}
	if looked == 0 {
		t.Fatal("looked at no file")
	}
}

// isLimit reports whether an expression is a limit that is there: a limit is a
// pointer, so that it is one which is followed, bare or inside a conversion.
func isLimit(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.ParenExpr:
		return isLimit(e.X)
	case *ast.StarExpr:
		return isNamed(e.X, "Min", "Max", "Limit", "Next")
	case *ast.CallExpr:
		if method, ok := e.Fun.(*ast.SelectorExpr); ok && isNamed(method.X, "Min", "Max", "Limit", "Next") {
			return true
		}
		return slices.ContainsFunc(e.Args, isLimit)
	}
	return false
}

func isExclusive(e ast.Expr) bool {
	if not, ok := e.(*ast.UnaryExpr); ok {
		e = not.X
	}
	return isNamed(e, "MinExclusive", "MaxExclusive")
}

func isNamed(e ast.Expr, names ...string) bool {
	selected, ok := e.(*ast.SelectorExpr)
	return ok && slices.Contains(names, selected.Sel.Name)
}
