// Package page gives a debrief as one page of HTML that needs nothing else: no network, no script.
package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/score"
)

//go:embed page.html
var source string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"seconds": seconds, "percent": percent, "figure": figure, "departure": debrief.Departure, "bad": bad, "joined": joined,
}).Parse(source))

// Page is what goes onto the page.
type Page struct {
	debrief.Head
	Account string // how the times came about
	Result  *score.Result
	Trace   *trace.Trace // what the aircraft showed; nil leaves the plot out
}

// Write writes the page. It is the same for the same sitting.
func (p *Page) Write(w io.Writer) error {
	var plot template.HTML
	if p.Trace != nil {
		var svg bytes.Buffer
		if err := p.Trace.WriteSVG(&svg); err != nil {
			return err
		}
		plot = inline(svg.String())
	}
	return page.Execute(w, map[string]any{
		"Head": p.Head, "Account": p.Account, "R": p.Result, "Plot": plot, "Caution": debrief.Caution, "Formula": score.IndexFormula, "Counts": counts(p.Result),
	})
}

// inline makes a picture of its own a part of the page: what stands before the picture goes, and its size follows the page.
// Its text has been escaped by the library that drew it.
func inline(svg string) template.HTML {
	start, end := strings.Index(svg, "<svg"), strings.Index(svg, ">")
	if start < 0 {
		return ""
	}
	end = start + strings.Index(svg[start:], ">")
	box := attribute(svg[start:end], "viewBox")
	return template.HTML(`<svg role="img" aria-labelledby="plot-title" viewBox="` + box + `" xmlns="http://www.w3.org/2000/svg">` +
		`<title id="plot-title">Phases, abnormals and keys over the gauges and their limits</title>` + svg[end+1:])
}

func attribute(tag, name string) string {
	_, rest, _ := strings.Cut(tag, name+`="`)
	value, _, _ := strings.Cut(rest, `"`)
	return value
}

// count is how often an item came to an outcome.
type count struct {
	Outcome score.Outcome
	N       int
}

func counts(r *score.Result) []count {
	n := map[score.Outcome]int{}
	for i := range r.Items {
		n[r.Items[i].Outcome]++
	}
	var list []count
	for _, o := range []score.Outcome{score.Right, score.Wrong, score.Late, score.Omitted, score.OutOfOrder, score.Repeated, score.NotReached, score.NotAsked} {
		if n[o] > 0 {
			list = append(list, count{o, n[o]})
		}
	}
	return list
}

// bad tells whether an outcome is one to look at.
func bad(o score.Outcome) bool {
	switch o {
	case score.Right, score.NotAsked, score.Handled, score.LeftAlone, score.Unseen:
		return false
	}
	return true
}

// seconds is a time in milliseconds, if there is one, in seconds.
func seconds(ms any) string {
	switch v := ms.(type) {
	case *float64:
		if v != nil {
			return fmt.Sprintf("%.2f", *v/1000)
		}
	case float64:
		return fmt.Sprintf("%.2f", v/1000)
	}
	return "–"
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// figure is a figure in four digits, if there is one.
func figure(v any) string {
	switch v := v.(type) {
	case *float64:
		if v != nil {
			return fmt.Sprintf("%.4g", *v)
		}
	case float64:
		return fmt.Sprintf("%.4g", v)
	}
	return "–"
}

func joined(words []string) string { return strings.Join(words, ", ") }
