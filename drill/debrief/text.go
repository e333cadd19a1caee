// Package debrief tells a trainee and an instructor what a result means.
package debrief

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Caution is what every report says. Over an aircraft of somebody's own CautionOf says whose it is.
const Caution = trainingAid + " Every aircraft that comes with it is fictional."

const trainingAid = "Training aid at a desk. Not approved for operational use. The approved flight manual, the operator's procedures and a qualified instructor come first."

// CautionOf is the caution over what was done with an aircraft. Of one that did not come with the program nobody knows here
// whether it is fictional, but only whose it is.
func CautionOf(p *aircraft.Profile) string {
	switch {
	case p == nil || !p.Own:
		return Caution
	case p.By != "":
		return fmt.Sprintf("%s The aircraft, %s, was made by %s.", trainingAid, p.Title, strings.TrimSuffix(p.By, "."))
	}
	return fmt.Sprintf("%s The aircraft, %s, did not come with the program: it is that of whoever wrote its profile, %s.", trainingAid, p.Title, p.Name)
}

// Head is what a report says of the sitting before it comes to the result.
type Head struct {
	Scenario, Title, Trainee, Policy string
	Seed                             uint64
	Date                             string // of the start; empty for a sitting without a clock
	Sound                            string // what was heard, and how well its times are known
	Names                            Names
	Caution                          string // over this aircraft; empty: Caution
}

// Warns is the caution over the sitting.
func (h *Head) Warns() string { return cmp.Or(h.Caution, Caution) }

// Names are what a trainee knows things by, for their ids. Where there is none, the id is written. Units are those of the gauges,
// and Decimals how many of them a gauge shows.
type Names struct {
	Items, Phases, Gauges, Controls, Units map[string]string
	Decimals                               map[string]int
}

// reading is a value of a gauge, with one figure more than the gauge shows, so that a limit that was just passed can be told
// from one that was just kept. What is as good as nothing is 0.
func (n Names) reading(gauge string, v float64) string {
	if math.Abs(v) < 0.0005 {
		v = 0
	}
	if decimals, known := n.Decimals[gauge]; known {
		return strconv.FormatFloat(v, 'f', decimals+1, 64)
	}
	return fmt.Sprintf("%.4g", v)
}

// Control is what a control is called on the panel.
func (n Names) Control(id string) string { return cmp.Or(n.Controls[id], id) }

// unit is the unit of a gauge behind a figure, if it has one.
func (n Names) unit(gauge string) string {
	if n.Units[gauge] == "" {
		return ""
	}
	return " " + n.Units[gauge]
}

// Gauge is what a gauge is called on the panel.
func (n Names) Gauge(id string) string { return cmp.Or(n.Gauges[id], id) }

// Item is the challenge of an item.
func (n Names) Item(id string) string { return cmp.Or(n.Items[id], id) }

// List is the challenges of items, one after the other.
func (n Names) List(ids []string) string {
	var names []string
	for _, id := range ids {
		names = append(names, n.Item(id))
	}
	return strings.Join(names, ", ")
}

// Phase is the title of a phase.
func (n Names) Phase(id string) string { return cmp.Or(n.Phases[id], id) }

// Text is the report in lines of at most width characters, for a screen or a file: the essentials first, on one screen, and
// then what they rest on. It says by word and mark, never by colour alone, what was late, skipped or out of order.
func Text(h Head, r *score.Result, width int) []string {
	w := &writer{width: max(width, 60)}
	w.head(h, r)
	w.verdict(h, r)
	w.glance(r)
	w.remarks(r)
	w.rehearse(h, r.Next[:min(len(r.Next), nextOnScreen)], "Rehearse next")
	w.criteria(r)
	w.items(h, r)
	w.order(h, r)
	w.injections(h, r)
	w.instructed(h, r)
	w.reactions(h, r)
	w.looking(r)
	w.extremes(h, r)
	if len(r.Next) > nextOnScreen {
		w.rehearse(h, r.Next, "Rehearse next, all of it")
	}
	w.rule("Caution")
	w.para("", h.Warns())
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
	for _, word := range withUnits(strings.Fields(text)) {
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

// withUnits puts a unit to the figure before it: a line never ends between them.
func withUnits(words []string) []string {
	var out []string
	for _, word := range words {
		switch strings.TrimRight(word, ".,;:)") {
		case "s", "ms", "%", "°C", "bar", "kg", "V", "ft", "kt", "in":
			if n := len(out); n > 0 && strings.ContainsAny(out[n-1][len(out[n-1])-1:], "0123456789") {
				out[n-1] += " " + word
				continue
			}
		}
		out = append(out, word)
	}
	return out
}

func (w *writer) head(h Head, r *score.Result) {
	w.line("%s", h.Title)
	parts := []string{"scenario " + h.Scenario, "policy " + h.Policy, fmt.Sprintf("seed %d", h.Seed)}
	if h.Trainee != "" {
		parts = append(parts, "trainee "+h.Trainee)
	}
	if h.Date != "" {
		parts = append(parts, h.Date)
	}
	w.para("", strings.Join(parts, ", "))
	w.para("", Ended(r))
	w.para("", TookPart(r))
}

// Ended says how a sitting ended, where it did not go through.
func Ended(r *score.Result) string {
	switch r.EndedWhy {
	case logbook.Complete:
		return ""
	case logbook.Refused:
		return "The flow ended at a check that was rightly refused."
	case logbook.Inspection:
		return "The sitting ended when a limit was passed after which the aircraft has to be inspected."
	case logbook.NotRight:
		return "The sitting ended at an item that had to be right before the flow could continue."
	case logbook.TooLong:
		return "The sitting was ended before it was complete: it had reached the longest time allowed."
	}
	if r.Completed {
		return ""
	}
	return "The sitting was ended before it was complete."
}

// How much of a list is among the essentials, so that they stay on one screen of 24 lines.
const (
	nextOnScreen  = 3
	unmetOnScreen = 3
)

func (w *writer) verdict(h Head, r *score.Result) {
	w.rule("Result")
	w.para("", Verdict(r))
	for _, text := range r.Inspections {
		w.para("  ", "! "+text)
	}
	if len(r.Held) > 0 {
		w.para("  ", "! had to be right before the flow could continue: "+h.Names.List(r.Held))
	}
	var unmet []score.Criterion
	for _, c := range r.Criteria {
		if !c.Met {
			unmet = append(unmet, c)
		}
	}
	for _, c := range unmet[:min(len(unmet), unmetOnScreen)] {
		w.criterion(c)
	}
	if more := len(unmet) - unmetOnScreen; more > 0 {
		w.line("  ! and %d more, below", more)
	}
	w.index(r)
}

// Verdict says whether a sitting was passed, and if not, for the gravest reason.
func Verdict(r *score.Result) string {
	switch {
	case r.Passed && len(r.Criteria) == 0:
		return "PASSED: complete; there were no criteria."
	case r.Passed:
		return "PASSED: every criterion was met."
	case len(r.Inspections) > 0:
		return "NOT PASSED: the aircraft has to be inspected."
	case len(r.Held) > 0:
		return "NOT PASSED: an item that had to be right before the flow could continue was not."
	case r.CutShort():
		return "NOT PASSED: the sitting ended before the flow was complete."
	case !r.Completed:
		return "NOT PASSED: incomplete."
	}
	return "NOT PASSED: see the criteria marked with !"
}

func (w *writer) index(r *score.Result) {
	if len(r.Index.Parts) == 0 {
		return
	}
	var parts []string
	for _, p := range r.Index.Parts {
		parts = append(parts, fmt.Sprintf("%s %.0f %% of %d", p.Name, 100*p.Share, p.Count))
	}
	text := "No index, the sitting being incomplete"
	if r.Index.Value != nil {
		text = fmt.Sprintf("Index %.1f of 100", *r.Index.Value)
	}
	w.para("", text+": "+strings.Join(parts, ", ")+".")
}

// glance is a line for each thing that was judged, with its count.
func (w *writer) glance(r *score.Result) {
	line := func(what, format string, args ...any) {
		w.hanging(fmt.Sprintf("  %-10s", what), fmt.Sprintf(format, args...))
	}
	if r.Order.Figure != nil {
		tau := ""
		if r.Order.TauB != nil {
			tau = fmt.Sprintf("; tau-b %.2f of %d", *r.Order.TauB, r.Order.TauCount)
		}
		beyond := ""
		if r.Order.Beyond > 0 {
			beyond = fmt.Sprintf(", and %s", Count(r.Order.Beyond, "further departure"))
		}
		line("order", "%d of %d items done in place%s%s", r.Order.InPlace, r.Order.Wanted, beyond, tau)
	}
	if h := r.Handling; h.Count > 0 {
		line("abnormals", "of %d: %d noticed%s, %d diagnosed, %d made worse, %d recovered, %d handled", h.Count, h.Noticed, told(h.Told), h.Diagnosed, h.MadeWorse, h.Recovered, h.Handled)
		line("actions", "of %d: %d done, %d in time, %d in order%s", h.Actions, h.Done, h.InTime, h.InOrder, silenced(h.SilencedOnly))
	}
	var medians []string
	for _, c := range r.Reactions.Classes {
		if c.Of > 0 {
			medians = append(medians, fmt.Sprintf("%s %.2f s of %d", c.Class, c.MedianMS/1000, c.Of))
		}
	}
	if len(medians) > 0 {
		line("reaction", "%s (medians)", strings.Join(medians, ", "))
	}
	if r.Looking.Words != "" {
		line("looking", "%s", r.Looking.Words)
	}
	if g := r.Resuming; g.Count > 0 {
		lag := ""
		if g.LagMS != nil {
			lag = fmt.Sprintf(", right item after %.2f s (median of %d)", *g.LagMS/1000, g.LagCount)
		}
		line("resuming", "place kept %d of %d times%s", g.Kept, g.Count, lag)
	}
}

func told(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", %d told", n)
}

func silenced(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; ! horn silenced without acting: %d", n)
}

// hanging breaks a text into lines, the first behind head and the others as far in.
func (w *writer) hanging(head, text string) {
	first := len(w.lines)
	w.para(strings.Repeat(" ", len([]rune(head))), text)
	if first < len(w.lines) {
		w.lines[first] = head + strings.TrimLeft(w.lines[first], " ")
	}
}

func (w *writer) rehearse(h Head, next []score.Rehearse, title string) {
	if len(next) == 0 {
		return
	}
	w.rule(title)
	for i, n := range next {
		w.hanging(fmt.Sprintf("  %d. ", i+1), h.Names.Rehearsal(n)+": "+n.Why)
	}
}

// Rehearsal says what is to be rehearsed.
func (n Names) Rehearsal(r score.Rehearse) string {
	switch {
	case r.Name == "":
		return string(r.Kind)
	case r.Kind == score.RehearseItem || r.Kind == score.RehearseOrder || r.Kind == score.RehearseHold:
		return string(r.Kind) + " " + n.Item(r.Name)
	}
	return string(r.Kind) + " " + r.Name
}

func (w *writer) criteria(r *score.Result) {
	if len(r.Criteria) == 0 {
		return
	}
	w.rule("Criteria")
	for _, c := range r.Criteria {
		w.criterion(c)
	}
}

func (w *writer) criterion(c score.Criterion) {
	mark := " "
	if !c.Met {
		mark = "!"
	}
	w.para("  ", fmt.Sprintf("%s %s: %s, wanted %s (of %d)", mark, c.Name, c.Got, c.Want, c.Count))
}

// items lists everything that was not right; what was right is only counted.
func (w *writer) items(h Head, r *score.Result) {
	if len(r.Items) == 0 {
		return
	}
	w.rule("Items")
	w.para("", Outcomes(r))
	var again []string
	for _, it := range r.Items {
		if it.DoneAnew() {
			again = append(again, it.ID)
		}
		if it.Outcome.IsError() {
			head := fmt.Sprintf("  ! %-12s %-24s ", it.Outcome, h.Names.Item(it.ID))
			if text := timeOf(it); text != "" {
				w.hanging(head, text)
			} else {
				w.line("%s", head)
			}
		}
	}
	if len(again) > 0 {
		w.para("  ", "as they were done last, the instructor having set back to before them: "+h.Names.List(again))
	}
}

// Outcomes says, in a sentence, how often items came to each outcome.
func Outcomes(r *score.Result) string {
	counts := map[score.Outcome]int{}
	for i := range r.Items {
		counts[r.Items[i].Outcome]++
	}
	var parts []string
	for _, o := range []score.Outcome{score.Right, score.Wrong, score.Late, score.Omitted, score.OutOfOrder, score.Rote, score.Repeated, score.NotReached, score.NotAsked} {
		if counts[o] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[o], o))
		}
	}
	return fmt.Sprintf("%s: %s.", Count(len(r.Items), "item"), strings.Join(parts, ", "))
}

// timeOf says when an item was answered, and of a reading with what.
func timeOf(it score.ItemResult) string {
	var parts []string
	rote := slices.Contains(it.Marks, score.Rote)
	switch {
	case it.Anticipated:
		parts = append(parts, "before the challenge was over")
	case it.ReactionMS != nil && rote:
		parts = append(parts, fmt.Sprintf("%.2f s, too soon to have looked", *it.ReactionMS/1000))
	case it.ReactionMS != nil:
		parts = append(parts, fmt.Sprintf("%.2f s of %.0f s", *it.ReactionMS/1000, it.LimitMS/1000))
	}
	if typed := Typed(it); typed != "" {
		parts = append(parts, typed)
	}
	return strings.Join(parts, "; ")
}

// Typed says what was typed for a reading, what would have been right, and by how much it may be wrong; empty for other items.
func Typed(it score.ItemResult) string {
	if it.True == "" {
		return ""
	}
	text := fmt.Sprintf("typed %s, it was %s", cmp.Or(it.Typed, "nothing"), it.True)
	if it.Tolerance != nil && *it.Tolerance > 0 {
		text += fmt.Sprintf(" (within %s)", strconv.FormatFloat(*it.Tolerance, 'g', -1, 64))
	}
	return text
}

func (w *writer) order(h Head, r *score.Result) {
	if len(r.Order.Deviations) == 0 {
		return
	}
	w.rule("Order")
	for _, d := range r.Order.Deviations {
		w.para("  ", "! "+h.Names.Departure(d))
	}
}

// Departure is a departure from the procedure in words, with what was done around it.
func (n Names) Departure(d score.Deviation) string {
	what := n.List(d.Items)
	switch d.Kind {
	case score.Reversal:
		return fmt.Sprintf("reversal: %s before %s%s", n.Item(d.Items[0]), n.Item(d.Items[1]), n.around(d))
	case score.JumpForward:
		return fmt.Sprintf("jump forward: %s was done too soon%s", what, n.around(d))
	case score.JumpBack:
		after := "at the beginning"
		if d.After != "" {
			after = "after " + n.Item(d.After)
		}
		return fmt.Sprintf("jump back: %s was done only %s", what, after)
	case score.Omission:
		return fmt.Sprintf("omission: %s was left out%s", what, n.around(d))
	case score.Repetition:
		return fmt.Sprintf("repetition: %s was done again%s", what, n.around(d))
	case score.Intrusion:
		return fmt.Sprintf("intrusion: %s was not called for%s", n.Control(d.Control), n.around(d))
	case score.Overshot:
		with := ""
		if d.Control != "" {
			with = " with " + n.Control(d.Control)
		}
		return fmt.Sprintf("overshoot: %s was moved past its position%s%s", what, with, n.around(d))
	case score.TooEarly:
		return fmt.Sprintf("too early: %s%s", what, n.around(d))
	case score.TooLate:
		return fmt.Sprintf("too late: %s%s", what, n.around(d))
	}
	as := ""
	if d.SeenAs != "" {
		as = ", seen as " + string(d.SeenAs)
	}
	return fmt.Sprintf("place lost after an interruption: %s%s%s", what, as, n.around(d))
}

// Departure is a departure in words where things have no names but their ids.
func Departure(d score.Deviation) string { return Names{}.Departure(d) }

// around says what was done just before and just after.
func (n Names) around(d score.Deviation) string {
	switch {
	case d.After == "":
		return ", at the beginning"
	case d.Before == "":
		return ", after " + n.Item(d.After)
	}
	return ", after " + n.Item(d.After) + " and before " + n.Item(d.Before)
}

func (w *writer) injections(h Head, r *score.Result) {
	if len(r.Injections) == 0 {
		return
	}
	w.rule("Interruptions")
	for _, in := range r.Injections {
		w.injection(h, in)
	}
}

func (w *writer) injection(h Head, in score.InjectionResult) {
	mark := " "
	if in.Outcome.IsError() {
		mark = "!"
	}
	w.para("  ", fmt.Sprintf("%s %s: %s", mark, cmp.Or(in.Title, in.Abnormal), Became(in.Outcome)))
	say := func(so bool, format string, args ...any) {
		if so {
			w.para("      ", fmt.Sprintf(format, args...))
		}
	}
	say(in.Inserted, "inserted by the instructor")
	say(Noticed(in) != "", "first cue: %s; %s", in.Cue, Noticed(in))
	say(len(in.LetGo) > 0 && !in.Harmless, "! items done while it went unnoticed: %s", h.Names.List(in.LetGo))
	say(in.Diagnosis == score.DiagnosedRight && in.DiagnosisMS != nil, "diagnosed: the first move was a right one, first action after %s", secondsOf(in.DiagnosisMS))
	say(in.Diagnosis == score.DiagnosedRight && in.DiagnosisMS == nil, "diagnosed: the first move was a right one")
	say(in.Diagnosis == score.DiagnosedWrong, "! the first move was a wrong one: %s", h.Names.Control(in.FirstMove))
	say(in.Diagnosis == score.NoMove && in.Outcome.IsError(), "! no control was moved")
	say(in.Beside > 0, "! other presses, called for by nothing: %d", in.Beside)
	say(in.SilencedOnly, "! the horn was silenced after %s, and nothing done about its cause", secondsOf(in.SilencedMS))
	for _, a := range in.Actions {
		say(in.Outcome != score.Unseen, "%s", actionLine(a))
	}
	for _, text := range in.Worse {
		w.para("      ", "! made it worse: "+text)
	}
	say(len(in.Early) > 0, "! the flow was resumed too soon: %s", h.Names.List(in.Early))
	for _, sentence := range How(h.Names, in) {
		w.para("      ", sentence)
	}
	for _, c := range in.Costs {
		half := ""
		if in.DetectionMS != nil {
			half = "; at half the delay " + h.Names.toll(c.Gauge, c.AtHalf)
		}
		w.para("      ", fmt.Sprintf("cost in %s: %s%s", h.Names.Gauge(c.Gauge), h.Names.toll(c.Gauge, c.AsWas), half))
	}
	say(in.Resumed == score.ResumedRight, "resumed at the right item after %s", secondsOf(in.ResumeMS))
	say(in.Resumed == score.ResumedWrong, "! resumed at the wrong item after %s%s", secondsOf(in.ResumeMS), h.Names.instead(in))
	say(in.Resumed == score.ResumedTwice, "! repeated items that had been done")
	say(in.Resumed == score.ResumedPrompted, "! had to be asked to resume")
}

// became are the outcomes of an injection in words.
var became = map[score.Outcome]string{
	score.Handled:    "handled",
	score.HandLate:   "handled late",
	score.MadeWorse:  "made worse, then recovered",
	score.WrongFirst: "recovered, but the first move was a wrong one",
	score.OutOfOrder: "recovered, but its actions were out of order",
	score.ToldFirst:  "handled only after it had been told",
	score.NotNoticed: "not noticed",
	score.Lost:       "not recovered",
	score.LeftOpen:   "left open: the flow ended over it",
	score.Stood:      "everything was already set",
	score.LeftAlone:  "left alone",
	score.ActedOn:    "acted on, though nothing was wrong",
	score.Unseen:     "never showed",
	score.Unended:    "still there when the sitting ended",
	score.Cleared:    "removed by the instructor",
}

// Became says what became of an injection.
func Became(o score.Outcome) string { return cmp.Or(became[o], string(o)) }

// noticedBy is what an injection was noticed by, in words.
var noticedBy = map[score.Notice]string{
	score.ByStop:    "a stop call",
	score.ByRefusal: "a check that was refused",
	score.ByAction:  "its first action",
	score.ByAlso:    "another right move",
	score.ByWorse:   "a move that made it worse",
	score.BySilence: "silencing its alert",
	score.ByMove:    "a move of one of its controls",
}

// Noticed says when an injection was noticed, or told, and how long it took; empty where there is nothing to be said.
func Noticed(in score.InjectionResult) string {
	var parts []string
	if in.DetectionMS != nil {
		text := "noticed after " + secondsOf(in.DetectionMS)
		if by := noticedBy[in.NoticedBy]; by != "" {
			text += " by " + by
		}
		parts = append(parts, text)
	}
	if in.ToldMS != nil {
		parts = append(parts, "told after "+secondsOf(in.ToldMS))
	}
	if in.Outcome == score.NotNoticed {
		text := "not noticed"
		if in.ShownMS != nil {
			text += " in the " + secondsOf(in.ShownMS) + " that it was there"
		}
		parts = append(parts, text)
	}
	if in.HandlingMS != nil {
		parts = append(parts, "over after "+secondsOf(in.HandlingMS))
	}
	return strings.Join(parts, ", ")
}

// How says how an injection ended: the abnormal's own sentence where one held, and otherwise how far its gauges went.
func How(n Names, in score.InjectionResult) []string {
	if in.Ended != "" {
		return []string{in.Ended}
	}
	var all []string
	for _, f := range in.Figures {
		unit := n.unit(f.Gauge)
		text := fmt.Sprintf("%s: lowest %s%s, highest %s%s", n.Gauge(f.Gauge), n.reading(f.Gauge, f.Lowest), unit, n.reading(f.Gauge, f.Highest), unit)
		if f.RedS > 0 {
			text += fmt.Sprintf(", in red %.1f s", f.RedS)
		}
		all = append(all, text+fmt.Sprintf(", ended at %s%s", n.reading(f.Gauge, f.Last), unit))
	}
	return all
}

// toll is how far a gauge went, and for how long it was in its red band.
func (n Names) toll(gauge string, t score.Toll) string {
	return fmt.Sprintf("%s to %s, %.1f s red", n.reading(gauge, t.Lowest), n.reading(gauge, t.Highest), t.RedS)
}

func actionLine(a score.ActionResult) string {
	switch {
	case a.Already:
		return fmt.Sprintf("  %s: already set", a.Say)
	case a.DoneMS == nil:
		return fmt.Sprintf("! %s: not done", a.Say)
	case a.OutOfOrder && !a.Late:
		return fmt.Sprintf("! %s: out of order, %s of %.0f s", a.Say, secondsOf(a.DoneMS), a.LimitMS/1000)
	case a.Late:
		return fmt.Sprintf("! %s: late, %s of %.0f s", a.Say, secondsOf(a.DoneMS), a.LimitMS/1000)
	}
	return fmt.Sprintf("  %s: %s of %.0f s", a.Say, secondsOf(a.DoneMS), a.LimitMS/1000)
}

// instead says where the flow was resumed, and where it should have been.
func (n Names) instead(in score.InjectionResult) string {
	switch {
	case in.WentOnAt == "":
		return ""
	case in.ResumeRightMS == nil:
		return fmt.Sprintf(": %s, and never %s", n.Item(in.WentOnAt), n.Item(in.ShouldHaveBeen))
	}
	return fmt.Sprintf(": %s, and %s only after %s", n.Item(in.WentOnAt), n.Item(in.ShouldHaveBeen), secondsOf(in.ResumeRightMS))
}

func secondsOf(ms *float64) string {
	if ms == nil {
		return "never"
	}
	return fmt.Sprintf("%.2f s", *ms/1000)
}

func (w *writer) reactions(h Head, r *score.Result) {
	x := &r.Reactions
	if x.Of == 0 && len(x.Classes) == 0 {
		return
	}
	w.rule("Reaction")
	if x.Of > 0 {
		w.para("", fmt.Sprintf("From the end of a challenge to the press: median %.2f s of %d.", x.MedianMS/1000, x.Of))
	}
	if x.Count > 0 {
		w.para("", fmt.Sprintf("Fastest %.2f s, slowest %.2f s, of %d.", x.FastestMS/1000, x.SlowestMS/1000, x.Count))
	}
	if none := x.Of - x.Count; none > 0 {
		w.para("", fmt.Sprintf("Not reactions, and counted in the median as twice their time: %d (%s).", none, noReactions(x)))
	}
	if r.Reactions.AssumedCount > 0 {
		w.para("", fmt.Sprintf("Timed from when the challenge should have ended, as no sound was reported: %d.", r.Reactions.AssumedCount))
	}
	w.classes(r.Reactions.Classes)
	for _, sentence := range Certainty(h, r) {
		w.para("", sentence)
	}
	w.para("", h.Sound)
}

// noReactions says what it was that was no reaction.
func noReactions(x *score.Reactions) string {
	var parts []string
	for _, kind := range []struct {
		n    int
		what string
	}{{x.Missed, "not answered"}, {x.Anticipated, "before the challenge was over"}, {x.Rote, "too soon to have looked"}, {x.Ahead, "before it was asked for"}} {
		if kind.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", kind.n, kind.what))
		}
	}
	return strings.Join(parts, ", ")
}

// classes is the table of the reactions to each class of cue.
func (w *writer) classes(classes []score.ClassReactions) {
	if len(classes) == 0 {
		return
	}
	w.line("  %-8s%4s%6s%12s%6s%6s%6s%6s%7s%6s%5s%6s", "cue", "of", "med.", "quartiles", "1/s", "fast", "slow", "par", "within", "lapse", "none", "early")
	for _, c := range classes {
		figure := func(v float64) string { return figure(v, c.Of) }
		w.line("  %-8s%4d%6s%6s%6s%6s%6s%6s%6s%7d%6d%5d%6d", c.Class, c.Of, figure(c.MedianMS/1000),
			figure(c.LowerQuartileMS/1000), figure(c.UpperQuartileMS/1000), figure(c.MeanPerS), figure(c.FastestTenthMS/1000),
			figure(c.SlowestTenthMS/1000), figure(c.ParMS/1000), c.WithinPar, c.Lapses, c.Missed, c.Anticipated+c.Rote+c.Ahead)
	}
	w.para("", "Seconds. Quartiles by definition 7 of Hyndman and Fan. 1/s: mean of the reciprocals. Fast and slow: mean of "+
		"the fastest and of the slowest tenth. Within: not beyond the par. Lapse: twice the par or more. None: no reaction. "+
		"Early: under 0.1 s, over the challenge, too soon to have looked, or before it was asked for. What was not a reaction "+
		"counts as twice its time.")
}

// figure is a number in five characters, or a dash where there is nothing that it rests on.
func figure(v float64, count int) string {
	text := fmt.Sprintf("%.2f", v)
	switch {
	case count == 0:
		return "-"
	case len(text) > 5:
		return fmt.Sprintf("%.0f", v)
	}
	return text
}

// Certainty says, in sentences, how well the reaction times are known. Those that cast doubt begin with "!".
func Certainty(h Head, r *score.Result) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	doubtful := 0
	var heard, seen *score.ClassReactions
	for i := range r.Reactions.Classes {
		c := &r.Reactions.Classes[i]
		doubtful += c.Doubtful
		if c.Class.Sounds() {
			heard = wider(heard, c)
		} else {
			seen = wider(seen, c)
		}
	}
	if heard != nil {
		say("A keyboard makes a reaction to a sound %.0f to %.0f ms longer than it was.", heard.LeastLateMS, heard.MostLateMS)
	}
	if seen != nil {
		say("Keyboard and screen make one to a light or a gauge %.0f to %.0f ms longer.", seen.LeastLateMS, seen.MostLateMS)
	}
	if s := r.Stamped; s != nil {
		say("%d of %d presses came from a page, whose stamps are known to within %.1f ms either way (half of them to within %.1f ms); that is in these "+
			"figures. What a mouse or a touch screen adds is not.", s.Presses, s.Of, s.MostOffMS, s.MedianOffMS)
	}
	if !r.Trusted {
		say("! The sound was not steady all the time: do not rely on these times.")
	}
	for _, b := range r.Sound.Bad {
		say("! Not steady from %.1f s to %.1f s: %s", b.FromMS/1000, b.UntilMS/1000, b.Why)
	}
	if doubtful > 0 {
		say("! Reactions in these stretches: %d.", doubtful)
	}
	for _, j := range r.Jumps {
		say("! At %.1f s the clock jumped by %.1f s: the program or the machine had been stopped. The sitting was held from before it, and what lies in it is not timed.",
			j.AtMS/1000, j.LengthMS/1000)
	}
	return append(all, heardOf(&r.Sound)...)
}

// wider is the widest of what two classes say of how late a reaction may be.
func wider(a, b *score.ClassReactions) *score.ClassReactions {
	if a == nil {
		return b
	}
	return &score.ClassReactions{LeastLateMS: min(a.LeastLateMS, b.LeastLateMS), MostLateMS: max(a.MostLateMS, b.MostLateMS)}
}

// heardOf says what was asked for, what was heard, what was not, and why.
func heardOf(s *score.Sound) []string {
	if s.Asked == 0 {
		return nil
	}
	missed := s.Missed()
	switch {
	case missed == s.Asked && len(s.Unheard) == 1:
		none := fmt.Sprintf("None of the %d sounds was heard", s.Asked)
		if s.Asked == 1 {
			none = "The one sound was not heard"
		}
		return []string{none + ": " + whyUnheard(s.Unheard[0].Why) + "."}
	case s.Reported == s.Asked && s.Asked == 1:
		return []string{"The one sound was reported as heard by the sound device."}
	case s.Reported == s.Asked:
		return []string{fmt.Sprintf("All of the %d sounds were reported as heard by the sound device.", s.Asked)}
	}
	parts := []string{fmt.Sprintf("%s asked for; %d reported as heard by the sound device", Count(s.Asked, "sound"), s.Reported)}
	if s.Assumed > 0 {
		parts = append(parts, fmt.Sprintf("%d taken to have been heard when due, as nobody reported them", s.Assumed))
	}
	for _, u := range s.Unheard {
		parts = append(parts, fmt.Sprintf("%d not heard: %s", u.Count, whyUnheard(u.Why)))
	}
	if s.CalledOff > 0 {
		parts = append(parts, fmt.Sprintf("%d called off before they began", s.CalledOff))
	}
	mark := ""
	if missed > 0 {
		mark = "! "
	}
	return []string{mark + strings.Join(parts, "; ") + "."}
}

// whyUnheard is a reason in words.
func whyUnheard(why logbook.Reason) string {
	switch why {
	case logbook.Muted:
		return "the sitting was silent by choice"
	case logbook.NoDevice:
		return "there was no sound device, or it had gone"
	case score.Virtual:
		return "the sitting was virtual, without a clock or a sound"
	}
	return "an earlier version kept the sitting, and not whether there was a sound device"
}

func (w *writer) looking(r *score.Result) {
	l := r.Looking
	if l.Signals+l.Noise == 0 {
		return
	}
	w.rule("Looking")
	w.para("", fmt.Sprintf("Faults judged: %d, found %d. Looks at something right: %d, false alarms %d.", l.Signals, l.Hits, l.Noise, l.FalseAlarms))
	if l.QuietStretches > 0 {
		w.para("", fmt.Sprintf("Among the latter, stretches of %.0f s in which nothing was wrong: %d.", score.QuietStretch.Seconds(), l.QuietStretches))
	}
	if l.Sensitivity != nil {
		w.para("", fmt.Sprintf("Sensitivity d' %.2f (0 is guessing), criterion c %+.2f (above 0 leans towards yes, in limits); of %d looks, with the log-linear correction.",
			*l.Sensitivity, *l.Criterion, l.Signals+l.Noise))
	}
}

func (w *writer) extremes(h Head, r *score.Result) {
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
		w.line("  ! %-12s %6.1f s in its red band, lowest %s, highest %s", h.Names.Gauge(x.Gauge), x.RedS, h.Names.reading(x.Gauge, x.Lowest), h.Names.reading(x.Gauge, x.Highest))
	}
}
