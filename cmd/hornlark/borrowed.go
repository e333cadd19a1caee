package main

import (
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
)

// borrowedInWords says what of the documents for other profiles works on one that is laid over these, or made of them, a line each. What
// can go wrong is named to an instructor alone.
func borrowedInWords(all []library.Borrowed, instructor bool) (lines []string) {
	var under []string
	for _, b := range all {
		if !slices.Contains(under, b.For) {
			under = append(under, b.For)
		}
	}
	for _, of := range under {
		for _, kind := range []library.Kind{library.Procedure, library.Scenario, library.Abnormal} {
			lines = append(lines, borrowedOf(all, of, kind, instructor || kind != library.Abnormal)...)
		}
	}
	return lines
}

// borrowedOf is what of one kind was written for a profile.
func borrowedOf(all []library.Borrowed, of string, kind library.Kind, named bool) (lines []string) {
	var works []string
	count := 0
	for _, b := range all {
		if b.For != of || b.Kind != kind {
			continue
		}
		if count++; b.Works() {
			works = append(works, b.Name)
		}
		switch {
		case !named:
		case !b.Works():
			lines = append(lines, fmt.Sprintf("not %s %s: %s", kind, b.Name, b.Because))
		case len(b.Without) > 0:
			lines = append(lines, fmt.Sprintf("%s %s without %s", kind, b.Name, strings.Join(b.Without, "; ")))
		}
	}
	if count == 0 {
		return nil
	}
	line := fmt.Sprintf("%d of %d %ss of %s work on it", len(works), count, kind, of)
	if named && len(works) > 0 {
		line += ": " + strings.Join(works, ", ")
	}
	return append([]string{line}, lines...)
}

// lineage shows what a profile is laid over, or made of, and what that brings.
func (to *shower) lineage(p *aircraft.Profile) {
	switch {
	case p.BasedOn != "":
		fmt.Fprintf(to.out, "\nLAID OVER %s\n", p.BasedOn)
		if len(p.LeaveOut) > 0 {
			fmt.Fprintf(to.out, "  without %s\n", strings.Join(p.LeaveOut, ", "))
		}
	case p.Like != "":
		fmt.Fprintf(to.out, "\nMADE OF %s\n", p.Like)
	default:
		return
	}
	_, borrowed := to.lib.For(p.Name)
	for _, line := range borrowedInWords(borrowed, to.reveal) {
		fmt.Fprintln(to.out, "  "+line)
	}
}
