package debrief

import (
	"io"
	"strconv"
	"strings"

	"hornlark/drill/inert"
	"hornlark/drill/score"
)

// Column is one column of a table of results.
type Column struct {
	Name  string
	Means string
	of    func(*row) string
}

// row is one item, or one injection, of one sitting.
type row struct {
	*Sitting
	item      *score.ItemResult      // nil: an injection
	injection *score.InjectionResult // nil: an item
}

// Columns are the columns of the table, in order. A cell without a meaning for its row is empty.
var Columns = []Column{
	{"sitting", "uid of the sitting, the same everywhere", func(r *row) string { return r.UID }},
	{"trainee", "name; empty: nobody gave one", func(r *row) string { return r.Trainee }},
	{"started", "when the sitting began: UTC, RFC 3339", func(r *row) string { return r.Started.UTC().Format(stamp) }},
	{"scenario", "short name", func(r *row) string { return r.Scenario }},
	{"procedure", "short name", func(r *row) string { return r.Procedure }},
	{"profile", "short name of the aircraft", func(r *row) string { return r.Profile }},
	{"policy", "prompted, recall, alerts, watch or limits", func(r *row) string { return r.Policy }},
	{"seed", "of the draws", func(r *row) string { return strconv.FormatUint(r.Seed, 10) }},
	{"state", "of the sitting: complete, stopped or unended", func(r *row) string { return r.State }},
	{"passed", "true or false: the sitting met its criteria", func(r *row) string { return strconv.FormatBool(r.Result.Passed) }},
	{"sound_trusted", "true or false: the sound was healthy throughout, so that times mean something", func(r *row) string { return strconv.FormatBool(r.Result.Trusted) }},
	{"kind", "item, injection or look-alike", (*row).kind},
	{"name", "id of the item, or name of the abnormal", (*row).name},
	{"phase", "of the item", item(func(i *score.ItemResult) string { return i.Phase })},
	{"outcome", "what became of it", (*row).outcome},
	{"marks", "all that is to be said against the item, between blanks", item(func(i *score.ItemResult) string { return words(i.Marks) })},
	{"reaction_ms", "from the end of the challenge to the answer", item(func(i *score.ItemResult) string { return number(i.ReactionMS) })},
	{"limit_ms", "time for the answer", item(func(i *score.ItemResult) string { return number(&i.LimitMS) })},
	{"anticipated", "true: answered before it could be a reaction", item(func(i *score.ItemResult) string { return strconv.FormatBool(i.Anticipated) })},
	{"overshoots", "how often the wanted position was passed", item(func(i *score.ItemResult) string { return strconv.Itoa(i.Overshoots) })},
	{"cue", "class of the first cue", injection(func(i *score.InjectionResult) string { return string(i.Cue) })},
	{"detection_ms", "from the first cue to the first press that had to do with it", injection(func(i *score.InjectionResult) string { return number(i.DetectionMS) })},
	{"handling_ms", "from the first cue to its end, if it was handled", injection(func(i *score.InjectionResult) string { return number(i.HandlingMS) })},
	{"actions_done", "how many of its immediate actions", injection(actionsDone)},
	{"actions", "how many immediate actions it has", injection(func(i *score.InjectionResult) string { return strconv.Itoa(len(i.Actions)) })},
	{"made_worse", "how often it was made worse", injection(func(i *score.InjectionResult) string { return strconv.Itoa(len(i.Worse)) })},
	{"resumed", "right, wrong, twice or prompted", injection(func(i *score.InjectionResult) string { return string(i.Resumed) })},
	{"resume_ms", "from its end to the first item afterwards", injection(func(i *score.InjectionResult) string { return number(i.ResumeMS) })},
	{"noticed_by", "stop, refusal, action, also, worse, silence or move: what the first press that had to do with it was", injection(func(i *score.InjectionResult) string { return string(i.NoticedBy) })},
	{"diagnosis", "right, wrong or none: the first move belonged to it, or did not", injection(func(i *score.InjectionResult) string { return string(i.Diagnosis) })},
	{"actions_in_time", "how many of its immediate actions were done in time", injection(func(i *score.InjectionResult) string { return strconv.Itoa(i.ActionsInTime) })},
	{"actions_in_order", "how many of them in their order", injection(func(i *score.InjectionResult) string { return strconv.Itoa(i.ActionsInOrder) })},
	{"silenced_without_acting", "true: the horn was silenced and nothing done about it", injection(func(i *score.InjectionResult) string { return strconv.FormatBool(i.SilencedOnly) })},
	{"place", "kept or lost, once it was over", injection(func(i *score.InjectionResult) string { return string(i.Place) })},
	{"resume_right_ms", "from its end to the first right item, unprompted", injection(func(i *score.InjectionResult) string { return number(i.ResumeRightMS) })},
	{"ahead", "true: done before anybody had asked for it", item(func(i *score.ItemResult) string { return strconv.FormatBool(i.Ahead) })},
	{"typed", "of a reading or a figure: what was typed", item(func(i *score.ItemResult) string { return i.Typed })},
	{"true", "of the same: what would have been right", item(func(i *score.ItemResult) string { return i.True })},
	{"tolerance", "of the same: by how much it may be wrong", item(func(i *score.ItemResult) string { return number(i.Tolerance) })},
	{"shown_ms", "from its onset to its end, or to that of the sitting", injection(func(i *score.InjectionResult) string { return number(i.ShownMS) })},
	{"told_ms", "from its onset to when the crew said what it was", injection(func(i *score.InjectionResult) string { return number(i.ToldMS) })},
	{"let_go", "how many items were done over it before it was noticed", injection(func(i *score.InjectionResult) string { return strconv.Itoa(len(i.LetGo)) })},
	{"beside", "how many further presses neither it nor the flow wanted", injection(func(i *score.InjectionResult) string { return strconv.Itoa(i.Beside) })},
	{"sounds_asked", "how many sounds the sitting asked for", func(r *row) string { return strconv.Itoa(r.Result.Sound.Asked) }},
	{"sounds_heard", "of them: a sound device reported when they were heard", func(r *row) string { return strconv.Itoa(r.Result.Sound.Reported) }},
	{"sounds_unheard", "of them: nobody can have heard them, and why, between blanks: muted, no-device, virtual or unknown, each with its count", func(r *row) string { return unheard(r.Result.Sound.Unheard) }},
	{"clock_jumps", "how often the sitting was held because the program or the machine had been stopped", func(r *row) string { return strconv.Itoa(len(r.Result.Jumps)) }},
	{"caution", "training aid, not for flight: what goes over everything that is handed on", func(r *row) string { return r.warns() }},
	{"date_set", "true: the date was set, for trying days to come, and is not when the sitting was", func(r *row) string { return strconv.FormatBool(r.Moved != 0) }},
	{"inserted", "true: by the instructor", injection(func(i *score.InjectionResult) string { return strconv.FormatBool(i.Inserted) })},
	{"set_back", "true: done before, and to be done again because the instructor had set back to before it", item(func(i *score.ItemResult) string { return strconv.FormatBool(i.SetBack) })},
	{"instructed", "what the instructor did in the sitting, each with its running time, between semicolons", func(r *row) string { return Names{Items: r.Names}.acts(r.Result) }},
	{"remarks", "what the instructor wrote down, each with its running time, between semicolons", func(r *row) string { return remarked(r.Result) }},
}

// unheard is how many sounds were not heard, and why.
func unheard(list []score.Unheard) string {
	var parts []string
	for _, u := range list {
		parts = append(parts, string(u.Why)+":"+strconv.Itoa(u.Count))
	}
	return strings.Join(parts, " ")
}

const stamp = "2006-01-02T15:04:05.000Z07:00"

func (r *row) kind() string {
	switch {
	case r.item != nil:
		return "item"
	case r.injection.Harmless:
		return "look-alike"
	}
	return "injection"
}

func (r *row) name() string {
	if r.item != nil {
		return r.item.ID
	}
	return r.injection.Abnormal
}

func (r *row) outcome() string {
	if r.item != nil {
		return string(r.item.Outcome)
	}
	return string(r.injection.Outcome)
}

// item makes a cell that only items have.
func item(of func(*score.ItemResult) string) func(*row) string {
	return func(r *row) string {
		if r.item == nil {
			return ""
		}
		return of(r.item)
	}
}

// injection makes a cell that only injections have.
func injection(of func(*score.InjectionResult) string) func(*row) string {
	return func(r *row) string {
		if r.injection == nil {
			return ""
		}
		return of(r.injection)
	}
}

func words(marks []score.Outcome) string {
	list := make([]string, len(marks))
	for i, m := range marks {
		list[i] = string(m)
	}
	return strings.Join(list, " ")
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

func actionsDone(in *score.InjectionResult) string {
	n := 0
	for _, a := range in.Actions {
		if a.DoneMS != nil {
			n++
		}
	}
	return strconv.Itoa(n)
}

// Table writes results as CSV (RFC 4180): a header, then a row for each item and each injection.
type Table struct{ w *inert.Table }

// NewTable begins a table with its header.
func NewTable(out io.Writer) *Table {
	t := &Table{inert.NewTable(out)}
	header := make([]string, len(Columns))
	for i, c := range Columns {
		header[i] = c.Name
	}
	t.w.Write(header) // an error stays, and Close gives it
	return t
}

// Add writes the rows of a sitting.
func (t *Table) Add(s *Sitting) {
	for i := range s.Result.Items {
		t.row(&row{Sitting: s, item: &s.Result.Items[i]})
	}
	for i := range s.Result.Injections {
		t.row(&row{Sitting: s, injection: &s.Result.Injections[i]})
	}
}

func (t *Table) row(r *row) {
	cells := make([]string, len(Columns))
	for i, c := range Columns {
		cells[i] = c.of(r)
	}
	t.w.Write(cells)
}

// Close writes what is left and gives the first error.
func (t *Table) Close() error { return t.w.Close() }
