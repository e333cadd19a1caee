package main

import (
	"context"

	"hornlark/drill/bench/advice"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

// adviser gives advice on documents that are checked together.
type adviser struct {
	lib     *library.Library
	checked []library.Checked
	far     *progress
	done    int
}

func (o *checkOptions) newAdviser(lib *library.Library, checked []library.Checked) *adviser {
	return &adviser{lib: lib, checked: checked, far: o.progress("trying documents")}
}

// on gives advice on a document. What is told has a place in it, and is told there once.
func (a *adviser) on(ctx context.Context, c *library.Checked) ([]advised, error) {
	if err := context.Cause(ctx); err != nil {
		return nil, err
	}
	a.done++
	a.far.at(a.done, len(a.checked))
	var list advice.List
	switch doc := c.Document.(type) {
	case *procedure.Procedure:
		list = advice.Written(doc)
	}
	var out []advised
	for _, one := range list {
		line, column, ok := c.Place(one.Path, one.Column)
		if ok {
			out = append(out, advised{library.Problem{File: c.File, Line: line, Column: column}, one})
		}
	}
	inOrder(out)
	return out, nil
}
