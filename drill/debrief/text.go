// Package debrief tells a trainee and an instructor what a result means.
package debrief

import (
	"fmt"
	"strings"

	"hornlark/drill/score"
)

// Caution is what every report says.
const Caution = "Training aid at a desk. Not approved for operational use. The approved flight manual, the operator's procedures and a qualified instructor come first. Every aircraft in it is fictional."

// Head is what a report says of the sitting before it comes to the result.
type Head struct {
	Scenario, Title, Trainee, Mode string
	Seed                           uint64
	Date                           string // of the start; empty for a sitting without a clock
	Sound                          string // what was heard, and how well its times are known
}

// Text is the report in lines of at most width characters, for a screen or a file. It says by word and mark, never by
// colour alone, what was late, skipped or out of order.
func Text(h Head, r *score.Result, width int) []string {
	w := &writer{width: max(width, 60)}
	w.head(h, r)
	w.verdict(r)
	w.items(r)
	w.order(r)
	w.injections(r)
	w.reactions(h, r)
	w.extremes(r)
	w.rule("Caution")
	w.para("", Caution)
	return w.lines
}

// writer collects lines.
type writer struct {
	width int
	lines []string
}

func (w *writer) line(format string, args ...any) {
	w.lines = append(w.lines, strings.TrimRight(fmt.Sprintf(format, args...), " "))
}

func (w *writer) rule(title string) {
	if len(w.lines) > 0 {
		w.line("")
	}
	w.line("%s %s", strings.ToUpper(title), strings.Repeat("-", max(0, w.width-len(title)-1)))
}

// para breaks a text into lines, each behind indent.
func (w *writer) para(indent, text string) {
	line := indent
	for _, word := range strings.Fields(text) {
		if len(line) > len(indent) && len([]rune(line))+1+len([]rune(word)) > w.width {
			w.line("%s", line)
			line = indent
		}
		if len(line) > len(indent) {
			line += " "
		}
		line += word
	}
	if strings.TrimSpace(line) != "" {
		w.line("%s", line)
	}
}

func (w *writer) head(h Head, r *score.Result) {
	w.line("%s", h.Title)
	parts := []string{"scenario " + h.Scenario, "mode " + h.Mode, fmt.Sprintf("seed %d", h.Seed)}
	if h.Trainee != "" {
		parts = append(parts, "trainee "+h.Trainee)
	}
	if h.Date != "" {
		parts = append(parts, h.Date)
	}
	w.para("", strings.Join(parts, ", "))
	if !r.Completed {
		w.line("The sitting was ended before it was complete.")
	}
}

func (w *writer) verdict(r *score.Result) {
	w.rule("Result")
	switch {
	case r.Passed:
		w.line("PASSED: every criterion was met.")
	case !r.Completed:
		w.line("NOT PASSED: incomplete.")
	default:
		w.line("NOT PASSED: see the criteria marked with !")
	}
	for _, c := range r.Criteria {
		mark := " "
		if !c.Met {
			mark = "!"
		}
		w.para("  ", fmt.Sprintf("%s %s: %s, wanted %s (of %d)", mark, c.Name, c.Got, c.Want, c.Count))
	}
}

// items lists everything that was not right; what was right is only counted.
func (w *writer) items(r *score.Result) {
	if len(r.Items) == 0 {
		return
	}
	w.rule("Items")
	counts := map[score.Outcome]int{}
	for _, it := range r.Items {
		counts[it.Outcome]++
	}
	var parts []string
	for _, o := range []score.Outcome{score.Right, score.Wrong, score.Late, score.Omitted, score.OutOfOrder, score.Repeated, score.NotReached, score.NotAsked} {
		if counts[o] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[o], o))
		}
	}
	w.para("", fmt.Sprintf("%d items: %s.", len(r.Items), strings.Join(parts, ", ")))
	for _, it := range r.Items {
		if it.Outcome == score.Right || it.Outcome == score.NotAsked || it.Outcome == score.NotReached {
			continue
		}
		w.line("  ! %-12s %-24s %s", it.Outcome, it.ID, timeOf(it))
	}
}

func timeOf(it score.ItemResult) string {
	switch {
	case it.Anticipated:
		return "before the challenge was over"
	case it.ReactionMS == nil:
		return ""
	}
	return fmt.Sprintf("%.2f s of %.0f s", *it.ReactionMS/1000, it.LimitMS/1000)
}

func (w *writer) order(r *score.Result) {
	if len(r.Order.Deviations) == 0 {
		return
	}
	w.rule("Order")
	for _, d := range r.Order.Deviations {
		after := "at the beginning"
		if d.After != "" {
			after = "after " + d.After
		}
		switch d.Kind {
		case "reversal":
			w.para("  ", fmt.Sprintf("! reversal: %s before %s, %s", d.Items[0], d.Items[1], after))
		case "jump-forward":
			w.para("  ", fmt.Sprintf("! jump forward: %s was done too soon, %s", d.Items[0], after))
		default:
			w.para("  ", fmt.Sprintf("! jump back: %s was only done %s", d.Items[0], after))
		}
	}
}

func (w *writer) injections(r *score.Result) {
	if len(r.Injections) == 0 {
		return
	}
	w.rule("Interruptions")
	for _, in := range r.Injections {
		w.injection(in)
	}
}

func (w *writer) injection(in score.InjectionResult) {
	mark := " "
	switch in.Outcome {
	case score.Lost, score.ActedOn, score.HandLate, score.Unended:
		mark = "!"
	}
	title := in.Title
	if title == "" {
		title = in.Abnormal
	}
	w.para("  ", fmt.Sprintf("%s %s: %s", mark, title, in.Outcome))
	if in.DetectionMS != nil || in.HandlingMS != nil {
		w.para("      ", fmt.Sprintf("first cue: %s; noticed after %s, over after %s", in.Cue, secondsOf(in.DetectionMS), secondsOf(in.HandlingMS)))
	}
	for _, a := range in.Actions {
		w.para("      ", actionLine(a))
	}
	for _, text := range in.Worse {
		w.para("      ", "! made it worse: "+text)
	}
	if len(in.Early) > 0 {
		w.para("      ", "! the flow was gone on with too soon: "+strings.Join(in.Early, ", "))
	}
	w.para("      ", in.Ended)
	switch in.Resumed {
	case "right":
		w.para("      ", fmt.Sprintf("went on at the right item after %s", secondsOf(in.ResumeMS)))
	case "wrong":
		w.para("      ", fmt.Sprintf("! went on at the wrong item after %s", secondsOf(in.ResumeMS)))
	case "twice":
		w.para("      ", "! did again what had been done")
	case "prompted":
		w.para("      ", "! had to be asked to go on")
	}
}

func actionLine(a score.ActionResult) string {
	switch {
	case a.Already:
		return fmt.Sprintf("  %s: stood so already", a.Say)
	case a.DoneMS == nil:
		return fmt.Sprintf("! %s: not done", a.Say)
	case a.Late:
		return fmt.Sprintf("! %s: late, %s of %.0f s", a.Say, secondsOf(a.DoneMS), a.LimitMS/1000)
	}
	return fmt.Sprintf("  %s: %s of %.0f s", a.Say, secondsOf(a.DoneMS), a.LimitMS/1000)
}

func secondsOf(ms *float64) string {
	if ms == nil {
		return "never"
	}
	return fmt.Sprintf("%.2f s", *ms/1000)
}

func (w *writer) reactions(h Head, r *score.Result) {
	if r.Reactions.Count == 0 {
		return
	}
	w.rule("Reaction")
	w.para("", fmt.Sprintf("From the end of a challenge to the press: median %.2f s, fastest %.2f s, slowest %.2f s, of %d.",
		r.Reactions.MedianMS/1000, r.Reactions.FastestMS/1000, r.Reactions.SlowestMS/1000, r.Reactions.Count))
	if r.Reactions.Anticipated > 0 {
		w.para("", fmt.Sprintf("Answers that came before the challenge was over, and are no reactions: %d.", r.Reactions.Anticipated))
	}
	if r.Reactions.AssumedCount > 0 {
		w.para("", fmt.Sprintf("Timed from when the challenge should have ended, nothing having been heard: %d.", r.Reactions.AssumedCount))
	}
	if !r.Trusted {
		w.para("", "! The sound was not healthy all the time: do not rely on these times.")
	}
	w.para("", h.Sound)
}

func (w *writer) extremes(r *score.Result) {
	var red []score.Extreme
	for _, x := range r.Extremes {
		if x.RedS > 0 {
			red = append(red, x)
		}
	}
	if len(red) == 0 {
		return
	}
	w.rule("Beyond a limit")
	for _, x := range red {
		w.line("  ! %-12s %6.1f s in its red band, between %.4g and %.4g", x.Gauge, x.RedS, x.Lowest, x.Highest)
	}
}
