package advice

import (
	"slices"
	"strings"
	"unicode"

	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// ShortList is the most items that a list has which is short in NUREG/CR-1278, table 20-7: in longer ones more is left out.
const ShortList = 10

// Written looks at how a procedure is written: its responses, its length, how its phases end, and challenges that sound
// alike. speak gives a text as it is spoken, with its figures and abbreviations as words; nil takes it as it is.
func Written(p *procedure.Procedure, speak func(string) string) List {
	var l List
	for i := range p.Phases {
		path := fault.At("phases", i)
		responses(&l, path, &p.Phases[i])
		ending(&l, path, &p.Phases[i])
		length(&l, path, &p.Phases[i])
	}
	alike(&l, p, speak)
	return l.order()
}

// responses notes those that state neither a status nor a value.
func responses(l *List, path string, ph *procedure.Phase) {
	for k := range ph.Items {
		it := &ph.Items[k]
		words := wordsOf(it.Response)
		if !saysNothing(words) || completes(ph, it) {
			continue
		}
		l.add(Status, fault.Join(fault.Join(path, fault.At("items", k)), "response"), statusRemedy(it), "%q does not say what was found", it.Response)
	}
}

// statusRemedy is what to say instead: what the item itself names, where it does.
func statusRemedy(it *procedure.Item) string {
	if len(it.Set) == 1 {
		return "say where it stands: " + it.Set[0].Position
	}
	return `say the status or the value that is right, as in "both off" or "above twenty three"`
}

// wordsOf is the words of a text, in small letters.
func wordsOf(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// saysNothing reports whether a response tells neither a status nor a value: "checked", "set" and "completed" are the examples of Degani and
// Wiener. That "done", "okay" and "as required" say as little is common practice, no source.
func saysNothing(words []string) bool {
	empty := false
	for _, word := range words {
		switch word {
		case "checked", "check", "checks", "set", "required", "necessary", "needed", "done", "ok", "okay", "complete", "completed":
			empty = true
		case "as", "all", "both", "and", "is", "are", "it", "if", "when":
		default:
			return false
		}
	}
	return empty
}

// completes reports whether an item is a completion call: one that is answered by looking or from outside, and that says in words that
// something is complete, or has the title of its phase as its challenge.
func completes(ph *procedure.Phase, it *procedure.Item) bool {
	if it.Kind() != procedure.Confirm && it.Kind() != procedure.Check {
		return false
	}
	if strings.EqualFold(it.Challenge, ph.Title) {
		return true
	}
	return slices.ContainsFunc(append(wordsOf(it.Response), wordsOf(it.Challenge)...), func(word string) bool {
		return word == "complete" || word == "completed" || word == "completion"
	})
}

// ending notes a phase without a completion call at its end. A phase of one item is its own end.
func ending(l *List, path string, ph *procedure.Phase) {
	n := len(ph.Items)
	if n < 2 || completes(ph, &ph.Items[n-1]) {
		return
	}
	remedy := "make the last item a confirm with the title as its challenge and Complete in its response"
	if at := slices.IndexFunc(ph.Items, func(it procedure.Item) bool { return completes(ph, &it) }); at >= 0 {
		remedy = "move " + ph.Items[at].ID + " to the end, or add one there"
	}
	l.add(Completion, fault.Join(path, "title"), remedy, "nobody says that %q is complete: after %s it is over without a word", ph.Title, ph.Items[n-1].ID)
}

// length notes a phase that goes on for longer than a short list has items without a completion call.
func length(l *List, path string, ph *procedure.Phase) {
	from := 0
	for k := range ph.Items {
		if !completes(ph, &ph.Items[k]) && k < len(ph.Items)-1 {
			continue
		}
		if n := k - from + 1; n > ShortList {
			middle := ph.Items[from+n/2].ID
			l.add(Division, fault.Join(path, fault.At("items", from)),
				"make two phases of it, or say in between that a part is complete; the middle is at "+middle,
				"from %s to %s there are %d items without a break", ph.Items[from].ID, ph.Items[k].ID, n)
		}
		from = k + 1
	}
}
