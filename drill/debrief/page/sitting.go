// Package page gives reports as pages of HTML that need nothing else: no network, no script.
package page

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/inert"
	"hornlark/drill/score"
)

// What a page is made of. Its style works in the light, in the dark, on paper of size A4 and on a telephone.
var (
	//go:embed style.css
	style string
	//go:embed top.html
	top string
	//go:embed sitting.html
	sittingSource string

	sitting = parse("sitting", sittingSource)
)

func parse(name, source string) *template.Template {
	return template.Must(template.New(name).Funcs(template.FuncMap{
		"style":   func() template.CSS { return template.CSS(style) },
		"seconds": seconds, "percent": percent, "figure": figure, "sentence": sentence,
		"became": debrief.Became, "noticed": debrief.Noticed, "how": debrief.How, "typed": debrief.Typed, "tooSoon": tooSoon, "running": debrief.Running,
		"parts": func(name string) []string { return strings.SplitAfter(name, ".") },
	}).Parse(top + source))
}

// Sitting is the report of one sitting.
type Sitting struct {
	Head   debrief.Head
	Result *score.Result
	Trace  *trace.Trace // what the aircraft showed; nil leaves the plot out
}

// Write writes the page. It is the same for the same sitting. Errors are those of the writer and of drawing; where there is nothing to plot the page says so.
func (s *Sitting) Write(w io.Writer) error {
	var plot template.HTML
	var none string
	if s.Trace != nil {
		s.Trace.Judged(s.Result)
		var svg bytes.Buffer
		err := s.Trace.WriteSVG(&svg)
		switch {
		case errors.Is(err, trace.ErrNothing):
			none = err.Error() // the page has all else
		case err != nil:
			return err
		}
		plot = inline(svg.String(), `aria-labelledby="`+trace.TitleID+`" aria-describedby="`+trace.DescriptionID+`"`)
	}
	return sitting.Execute(inert.Markup(w), map[string]any{
		"Head": s.Head, "R": s.Result, "Plot": plot, "NoPlot": none, "Caution": s.Head.Warns(), "Formula": score.IndexFormula,
		"Certainty": debrief.Certainty(s.Head, s.Result), "Verdict": debrief.Verdict(s.Result), "Ended": debrief.Ended(s.Result), "TookPart": debrief.TookPart(s.Result), "Outcomes": debrief.Outcomes(s.Result), "Costs": costs(s.Result), "Red": red(s.Result), "Phases": phases(s.Result),
	})
}

// inline makes a picture a part of the page: what stands before the picture goes, and its size follows the page. Its text
// has been escaped by the library that drew it. named says what it is called, in attributes.
func inline(svg, named string) template.HTML {
	_, svg, _ = strings.Cut(svg, "<svg")
	tag, rest, ok := strings.Cut(svg, ">")
	if !ok {
		return ""
	}
	_, box, _ := strings.Cut(tag, `viewBox="`)
	box, _, _ = strings.Cut(box, `"`)
	return template.HTML(`<svg role="img" ` + named + ` viewBox="` + box + `" xmlns="http://www.w3.org/2000/svg">` + rest)
}

// cost is what an abnormal did to one gauge.
type cost struct {
	score.Cost
	Title   string
	Noticed bool
}

func costs(r *score.Result) []cost {
	var list []cost
	for _, in := range r.Injections {
		for _, c := range in.Costs {
			list = append(list, cost{c, in.Title, in.DetectionMS != nil})
		}
	}
	return list
}

// red are the gauges that were beyond a limit.
func red(r *score.Result) []score.Extreme {
	var list []score.Extreme
	for _, x := range r.Extremes {
		if x.RedS > 0 {
			list = append(list, x)
		}
	}
	return list
}

// phase is what became of the items of a phase.
type phase struct {
	ID    string
	Items []score.ItemResult
}

func phases(r *score.Result) []phase {
	var list []phase
	for _, item := range r.Items {
		if len(list) == 0 || list[len(list)-1].ID != item.Phase {
			list = append(list, phase{ID: item.Phase})
		}
		last := &list[len(list)-1]
		last.Items = append(last.Items, item)
	}
	return list
}

// none stands where there is no figure.
const none = "–"

// seconds is a time in milliseconds, if there is one, in seconds.
func seconds(ms any) string {
	if v, ok := number(ms); ok {
		return fmt.Sprintf("%.2f", v/1000)
	}
	return none
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// figure is a figure in four digits, if there is one; what is as good as nothing is 0.
func figure(figure any) string {
	v, ok := number(figure)
	switch {
	case !ok:
		return none
	case math.Abs(v) < 0.0005:
		return "0"
	case math.Abs(v) >= 1000:
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.4g", v)
}

// number is the number that a field of a result has, or may have.
func number(field any) (float64, bool) {
	switch v := field.(type) {
	case float64:
		return v, true
	case *float64:
		if v != nil {
			return *v, true
		}
	}
	return 0, false
}

// tooSoon is how many answers to a class of cue came too soon to be reactions.
func tooSoon(c score.ClassReactions) int { return c.Anticipated + c.Rote + c.Ahead }

// sentence makes words a sentence.
func sentence(words string) string {
	if words == "" {
		return ""
	}
	return strings.ToUpper(words[:1]) + words[1:] + "."
}
