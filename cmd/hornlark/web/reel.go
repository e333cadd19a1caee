package web

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"time"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/walk"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Reel is a kept sitting as one page that needs nothing else: its panel as it was at every moment, its sound, and what happened, over one line of
// time that can be played and dragged. It is for a debrief, and tells everything. The page asks for nothing from anywhere: what it may run and
// show is bound to it by hashes.
type Reel struct {
	Kept   *desk.Kept
	Head   debrief.Head
	Result *score.Result
	Voices *voice.Library
	Layout screen.Layout // of the keyboard that the map of the controls is drawn for

	// Progress is called with how much of the sitting has been gone through; nil: nobody is told.
	Progress func(at, of time.Duration)
}

//go:embed assets/reel.html
var reelSource string

//go:embed assets/reel.css
var reelStyle string

//go:embed assets/reel.js
var reelScript string

//go:embed assets/panel.css
var panelStyle string

//go:embed assets/panel.js
var panelScript string

var reelPage = template.Must(template.New("reel").Funcs(template.FuncMap{"clock": clockText}).Parse(reelSource))

// reelData is what the script of a reel is given.
type reelData struct {
	Face   *Face        `json:"face"`
	Words  screen.Words `json:"words"`
	Length int64        `json:"length"` // ms
	Step   int64        `json:"step"`   // ms between two moments of a row of the strip
	Strip  *Strip       `json:"strip"`
	Lanes  *Lanes       `json:"lanes"`
	Plots  []int        `json:"plots"` // gauges that are plotted at first
}

// reelMoment is a line of what happened.
type reelMoment struct {
	At   int64 // ms
	Text string
	Slip bool
	Kind string // for the style
}

// Write writes the page. The same sitting gives the same bytes, as long as the machine has the same voices. The error is that of a sitting
// that cannot be gone through again, of the writer, or the cause of the end of the context.
func (r *Reel) Write(ctx context.Context, w io.Writer) error {
	k := r.Kept
	lasted := k.Lasted()
	progress := func(at, of time.Duration) {
		if r.Progress != nil {
			r.Progress(at, of)
		}
	}
	face := NewFace(k.Ex.Profile, r.Layout, scenario.Names)
	tape, err := Record(k.Begin(), face, k.Inputs, lasted, func(time.Duration) error { return context.Cause(ctx) })
	if err != nil {
		return fmt.Errorf("sitting %d cannot be gone through again: %w", k.ID, err)
	}
	moments, err := r.moments(tape)
	if err != nil {
		return err
	}
	lanes := lanesOf(tape, k.Ex.Profile, r.Head.Names, r.Result)
	for _, m := range moments {
		if m.Slip {
			lanes.Slips = append(lanes.Slips, Mark{m.At, m.Text, m.Text})
		}
	}
	heard, err := SoundOf(ctx, k, tape, r.Voices, func(at time.Duration) { progress(at, tape.Length+desk.Tail) })
	if err != nil {
		return err
	}
	data, err := packed(reelData{face, screen.WordsOf(k.Ex.Policy(), r.Layout), wholeMS(tape.Length), stepMS, tape.Strip, lanes, plotted(tape, k.Ex.Profile, r.Result)})
	if err != nil {
		return err
	}
	script := reelBundle()
	style := panelStyle + reelStyle
	return reelPage.Execute(inert.Markup(w), map[string]any{
		"Policy": policyOf(script, style), "Script": template.JS(script), "Style": template.CSS(style),
		"Data": template.HTML(data), "Sound": template.HTML(base64.StdEncoding.EncodeToString(heard)),
		"Head": r.Head, "Caution": r.Head.Warns(), "Passed": r.Result.Passed, "Verdict": debrief.Verdict(r.Result), "Ended": debrief.Ended(r.Result),
		"TookPart": debrief.TookPart(r.Result), "Certainty": debrief.Certainty(r.Head, r.Result), "Doubts": r.doubts(tape), "Moments": moments, "ID": k.ID,
	})
}

// packed is something as JSON, pressed and written in letters.
func packed(v any) (string, error) {
	body, err := json.Marshal(v)
	if err != nil {
		return "", err
	}
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return "", err
	}
	if _, err := z.Write(body); err != nil {
		return "", err
	}
	if err := z.Close(); err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(out.Bytes()), nil
}

// reelBundle is the script of the page: that of the panel, and that of the reel in a block of its own, where its names are nobody else's.
func reelBundle() string {
	var own []string
	for line := range strings.Lines(reelScript) {
		if !strings.HasPrefix(line, "import ") {
			own = append(own, line)
		}
	}
	return "\n" + panelScript + "\n{\n" + strings.Join(own, "") + "}\n"
}

// policyOf lets a page run that script, show that style and play what the script has unpacked, and nothing else (Content Security Policy
// Level 3, from memory).
func policyOf(script, style string) string {
	hash := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; script-src " + hash(script) + "; style-src " + hash(style) + "; media-src blob:; base-uri 'none'; form-action 'none'"
}

// moments are what happened, in the words of the walk through a sitting, in running time.
func (r *Reel) moments(tape *Tape) ([]reelMoment, error) {
	k := r.Kept
	through, err := walk.Through(k.Begin(), k.Inputs, k.Lasted(), k.Ex.Profile, r.Head.Names, r.Result)
	if err != nil {
		return nil, fmt.Errorf("sitting %d cannot be gone through again: %w", k.ID, err)
	}
	if len(through.Moments) == 0 {
		return nil, errors.New("nothing is known of this sitting: there is nothing to go through")
	}
	kinds := map[walk.Kind]string{walk.Phase: "phase", walk.Asked: "asked", walk.Abnormal: "abnormal", walk.Over: "abnormal"}
	var list []reelMoment
	for i := range through.Moments {
		if m := &through.Moments[i]; m.Kind != walk.Remark {
			list = append(list, reelMoment{wholeMS(tape.Running(m.At)), inert.Line(m.Text), m.Slip, kinds[m.Kind]})
		}
	}
	for _, x := range r.Result.Remarks { // each where it belongs, which need not be where it was written
		list = append(list, reelMoment{wholeMS(millisOf(x.AtMS)), inert.Line("remark of the instructor: " + x.Text), false, "remark"})
	}
	slices.SortStableFunc(list, func(a, b reelMoment) int { return cmp.Compare(a.At, b.At) })
	return list, nil
}

// doubts are what keeps the page from being the sitting as it was.
func (r *Reel) doubts(tape *Tape) []string {
	k := r.Kept
	var list []string
	switch c := k.CompareLog(tape.Log); {
	case c.Skipped:
		list = append(list, fmt.Sprintf("This sitting was kept by version %s in an earlier form of the log, so nobody can say whether this program goes through it as it was.", k.Version))
	case c.Differs():
		from := "its end"
		if c.Kept != nil {
			from = clockText(wholeMS(c.Kept.At))
		} else if c.Again != nil {
			from = clockText(wholeMS(c.Again.At))
		}
		list = append(list, fmt.Sprintf("This program does not go through the sitting as it was kept by version %s: from %s on the panel and the sound may not be what there was. The result is that of the log as it was kept.", k.Version, from))
	}
	if r.Voices.Notice() != "" {
		list = append(list, "Some phrases had no voice on the machine that wrote this page: the panel has their words, and the sound has not.")
	}
	return list
}

// plotted are the gauges that say most about the sitting: those that an abnormal moved or that went beyond a limit, or those that moved most.
func plotted(tape *Tape, p *aircraft.Profile, r *score.Result) []int {
	const some = 4
	list := []int{}
	add := func(i int) {
		if i >= 0 && len(list) < some && !slices.Contains(list, i) {
			list = append(list, i)
		}
	}
	index := func(id string) int {
		return slices.IndexFunc(p.Gauges, func(g aircraft.Gauge) bool { return g.ID == id })
	}
	for _, x := range r.Extremes {
		if x.RedS > 0 {
			add(index(x.Gauge))
		}
	}
	for _, in := range r.Injections {
		for _, f := range in.Figures[:min(2, len(in.Figures))] {
			add(index(f.Gauge))
		}
	}
	type moved struct {
		gauge int
		far   float64
	}
	var all []moved
	for i, n := range tape.Strip.Readings {
		var at, low, high int64
		for k := 0; k < len(n.Points); k += 2 {
			at += n.Points[k+1]
			low, high = min(low, at), max(high, at)
		}
		if scale := p.Gauges[i].Max - p.Gauges[i].Min; scale > 0 {
			all = append(all, moved{i, float64(high-low) * n.Grain / scale})
		}
	}
	slices.SortStableFunc(all, func(a, b moved) int {
		switch {
		case a.far > b.far:
			return -1
		case a.far < b.far:
			return 1
		}
		return 0
	})
	for _, m := range all {
		if len(list) < 3 {
			add(m.gauge)
		}
	}
	return list
}

// millisOf is a time in ms, as a result has it.
func millisOf(ms float64) time.Duration { return time.Duration(ms * float64(time.Millisecond)) }

// clockText is a time of the sitting as reports have it.
func clockText(ms int64) string { return debrief.Running(float64(ms)) }
