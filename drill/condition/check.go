package condition

import (
	"errors"

	"hornlark/drill/fault"
)

// Check notes in faults why the condition at a path of a document does not compile. An empty one is no fault: it is a
// field that was left out.
func Check(faults *fault.List, path, src string, scope Scope) {
	if src == "" {
		return
	}
	_, err := Compile(src, scope)
	var e *Error
	if errors.As(err, &e) {
		*faults = append(*faults, fault.Fault{Path: path, Column: e.Column, Problem: e.Problem, Remedy: e.Remedy})
	}
}
