package score

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// performer writes the log of a sitting that is gone through item by item.
type performer struct {
	scribe
	t     *rapid.T
	sheet *Sheet
}

func (p *performer) ms(least, most int, what string) time.Duration {
	return at(rapid.IntRange(least, most).Draw(p.t, what))
}

// anySheet draws a flow of a few items of all kinds, some of them in groups.
func anySheet(t *rapid.T) *Sheet {
	s := &Sheet{Abnormals: map[string]*scenario.Abnormal{"walker": walker(false), "passer-by": walker(true)}, Spoken: true}
	kinds := []procedure.Kind{procedure.Check, procedure.Set, procedure.Confirm, procedure.Read, procedure.Callout}
	rank := 0
	for i := range rapid.IntRange(3, 14).Draw(t, "items") {
		if i == 0 || rapid.IntRange(0, 2).Draw(t, "grouped") > 0 {
			rank++
		}
		s.Items = append(s.Items, Item{
			ID: string(rune('a' + i)), Phase: "p", Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Limit: 6 * time.Second, Rank: rank,
		})
	}
	return s
}

// rightOrder draws an order in which all items may be done.
func rightOrder(t *rapid.T, s *Sheet) []int {
	order := make([]int, len(s.Items))
	for i := range order {
		order[i] = i
	}
	order = rapid.Permutation(order).Draw(t, "order")
	slices.SortStableFunc(order, func(a, b int) int { return s.Items[a].Rank - s.Items[b].Rank })
	return order
}

// How an item is done.
const (
	well    = ""
	early   = "early"
	late    = "late"
	not     = "not"
	again   = "again"
	strayed = "strayed"
	wrongly = "wrongly"
)

// do asks an item and has it answered, rightly and within its par unless how says otherwise.
func (p *performer) do(i int, how string) {
	it := &p.sheet.Items[i]
	end := p.now + time.Second
	p.ask(it.ID, int(end/time.Millisecond))
	least := 100
	if it.Kind.Looked() {
		least = 1000 // a look
	}
	reaction := p.ms(least, 2000, "reaction")
	switch how {
	case early:
		reaction = p.ms(-900, 99, "too early")
	case late:
		reaction = it.Limit + p.ms(1, 3000, "too late")
	case not:
		p.now = end + 2*it.Limit
		p.add(logbook.Entry{Kind: logbook.TimedOut, Item: it.ID})
		return
	}
	p.now = end + reaction
	ok := how != wrongly
	switch it.Kind {
	case procedure.Check, procedure.Confirm:
		truth := rapid.SampledFrom([]string{"yes", "no"}).Draw(p.t, "truth")
		said := truth
		if !ok {
			said = map[string]string{"yes": "no", "no": "yes"}[truth]
		}
		p.add(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Text: said, Truth: truth})
	case procedure.Callout:
		ok = ok && how != early && how != late
		if how == early {
			reaction -= time.Second // before the value has passed
		}
		p.add(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Why: logbook.Passing, Onset: p.now - reaction})
	}
	p.add(logbook.Entry{Kind: logbook.Done, Item: it.ID, OK: ok})
	switch how {
	case again:
		p.add(logbook.Entry{Kind: logbook.Again, Item: it.ID})
	case strayed:
		p.add(logbook.Entry{Kind: logbook.Stray, Key: "w", Control: "fire_test2"})
	}
	p.now += p.ms(300, 900, "breath")
}

// befall puts an abnormal in that is handled well, after which the flow is to be resumed at an item.
func (p *performer) befall(next string) {
	class := rapid.SampledFrom([]logbook.Class{logbook.Horn, logbook.Caption, logbook.Gauge, logbook.Sight}).Draw(p.t, "class")
	p.add(logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	p.cue++
	p.add(logbook.Entry{Kind: logbook.Cue, Cue: p.cue, Class: class, Name: "low_nr", Onset: p.now})
	p.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: p.cue, Class: class, Name: "low_nr"})
	for n := 1; n <= 2; n++ {
		p.now += p.ms(100, 2000, "action")
		p.add(logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: n})
	}
	p.add(logbook.Entry{Kind: logbook.Handled, Injection: "walker#1", Item: next})
	p.now += time.Second
}

// pass is something harmless that is left alone.
func (p *performer) pass() {
	p.add(logbook.Entry{Kind: logbook.Inject, Injection: "passer-by#2", Abnormal: "passer-by", OK: true})
	p.add(logbook.Entry{Kind: logbook.Onset, Injection: "passer-by#2", Class: logbook.Sight})
	p.now += time.Second
	p.add(logbook.Entry{Kind: logbook.Cleared, Injection: "passer-by#2"})
}

// resume goes on with an item by itself.
func (p *performer) resume(item string, how logbook.Reason) {
	p.now += p.ms(300, 3000, "finding the place")
	p.add(logbook.Entry{Kind: logbook.Resumed, Item: item, Why: how, Length: time.Second})
	if how != logbook.Twice {
		p.add(logbook.Entry{Kind: logbook.Done, Item: item, OK: true})
	}
	p.now += p.ms(300, 900, "breath")
}

// strict is every criterion, as high as it goes.
func strict() scenario.Criteria {
	all, none, quick, red := 1.0, 0, 6*time.Second, time.Duration(0)
	return scenario.Criteria{Right: &all, Omitted: &none, OutOfOrder: &none, Handled: &all, Reaction: &quick, Detection: &quick,
		RedBand: &red, LookAlikes: &none, FalseConfirms: &none, WithinPar: &all}
}

// A sitting in which everything was done right scores full in every figure, whatever its items and groups, and whatever came
// in between.
func TestPerfectLogScoresFull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &performer{t: t, sheet: anySheet(t)}
		p.sheet.Pass = strict()
		order := rightOrder(t, p.sheet)
		interrupted := rapid.IntRange(-1, len(order)-1).Draw(t, "interrupted")
		for k, i := range order {
			if rapid.IntRange(0, 9).Draw(t, "passer-by") == 0 {
				p.pass()
			}
			if k == interrupted {
				p.befall(p.sheet.Items[i].ID)
				p.resume(p.sheet.Items[i].ID, logbook.AtPlace)
				continue
			}
			p.do(i, well)
		}
		r := Judge(p.sheet, p.end(true))
		if !r.Passed || *r.Index.Value != 100 || *r.Order.Figure != 100 || r.Order.TauB == nil || *r.Order.TauB != 1 {
			t.Fatalf("passed %v, index %+v, order %+v: %+v", r.Passed, r.Index, r.Order, r.Criteria)
		}
		if len(r.Order.Deviations)+len(r.Next)+r.Looking.FalseAlarms+r.Looking.Signals-r.Looking.Hits+r.Resuming.Lost > 0 {
			t.Fatalf("deviations %+v, next %+v, looking %+v, resuming %+v", r.Order.Deviations, r.Next, r.Looking, r.Resuming)
		}
		for _, c := range r.Criteria {
			if !c.Met {
				t.Fatalf("not met: %+v", c)
			}
		}
		if n := r.count(Right); n != len(order) {
			t.Fatalf("%d of %d right", n, len(order))
		}
	})
}

func (r *Result) count(o Outcome) int {
	n := 0
	for _, it := range r.Items {
		if it.Outcome == o {
			n++
		}
	}
	return n
}

// Any single departure from a perfect sitting is found, named as itself, and named alone; no figure of the order or the
// index rises by it.
func TestSingleDeviationIsNamedAsItself(t *testing.T) {
	kinds := []Slip{Omission, Repetition, Intrusion, TooEarly, TooLate}
	rapid.Check(t, func(t *rapid.T) {
		p := &performer{t: t, sheet: anySheet(t)}
		order := rightOrder(t, p.sheet)
		place := rapid.IntRange(0, len(order)-1).Draw(t, "place")
		kind := rapid.SampledFrom(kinds).Draw(t, "kind")
		how := map[Slip]string{Omission: not, Repetition: again, Intrusion: strayed, TooEarly: early, TooLate: late}[kind]
		if kind == TooLate && p.sheet.Items[order[place]].Kind == procedure.Callout {
			how = wrongly // a callout that is late is one outside of its window
		}
		for k, i := range order {
			if k == place {
				p.do(i, how)
				continue
			}
			p.do(i, well)
		}
		r := Judge(p.sheet, p.end(true))
		if len(r.Order.Deviations) != 1 {
			t.Fatalf("%s: %+v", kind, r.Order.Deviations)
		}
		d := r.Order.Deviations[0]
		id := p.sheet.Items[order[place]].ID
		wantItems := []string{id}
		if kind == Intrusion {
			wantItems = []string{}
		}
		if d.Kind != kind || !slices.Equal(d.Items, wantItems) || kind == Intrusion && d.Control != "fire_test2" {
			t.Fatalf("%+v; wanted %s of %s", d, kind, id)
		}
		wantPlace(t, p.sheet, r, d, order, place)
		lowers := kind == Omission || kind == Repetition || kind == Intrusion
		if *r.Index.Value > 100 || lowers && *r.Order.Figure >= 100 || !lowers && *r.Order.Figure != 100 {
			t.Fatalf("%s: index %v, order %v", kind, *r.Index.Value, *r.Order.Figure)
		}
	})
}

// wantPlace holds the items before and after a deviation to those that were done there.
func wantPlace(t *rapid.T, s *Sheet, r *Result, d Deviation, order []int, place int) {
	after, before := "", ""
	switch d.Kind {
	case Omission: // the neighbours are those of the procedure
		i := order[place]
		if i > 0 {
			after = s.Items[i-1].ID
		}
		if i+1 < len(s.Items) {
			before = s.Items[i+1].ID
		}
	default:
		if place > 0 {
			after = s.Items[order[place-1]].ID
		}
		if d.Kind == Intrusion || d.Kind == Repetition {
			after = s.Items[order[place]].ID
		}
		if place+1 < len(order) {
			before = s.Items[order[place+1]].ID
		}
	}
	if d.After != after || d.Before != before {
		t.Fatalf("%s between %q and %q; wanted %q and %q, done %v", d.Kind, d.After, d.Before, after, before, r.Order.Done)
	}
}

// One item moved past others is one reversal or one jump; moved within its group it is nothing.
func TestSingleMoveIsNamedAsItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &performer{t: t, sheet: anySheet(t)}
		right := rightOrder(t, p.sheet)
		from, to := rapid.IntRange(0, len(right)-1).Draw(t, "from"), rapid.IntRange(0, len(right)-1).Draw(t, "to")
		moved := right[from]
		order := slices.Insert(slices.Delete(slices.Clone(right), from, from+1), to, moved)
		passed := 0 // items that it was moved past and may not be
		for _, i := range right[min(from, to) : max(from, to)+1] {
			if p.sheet.Items[i].Rank != p.sheet.Items[moved].Rank {
				passed++
			}
		}
		for _, i := range order {
			p.do(i, well)
		}
		d := Judge(p.sheet, p.end(true)).Order.Deviations
		if passed == 0 {
			if len(d) > 0 {
				t.Fatalf("%v: %+v; wanted nothing", order, d)
			}
			return
		}
		want := JumpForward
		switch {
		case passed == 1:
			want = Reversal
		case from < to:
			want = JumpBack
		}
		id := p.sheet.Items[moved].ID
		if len(d) != 1 || d[0].Kind != want || !slices.Contains(d[0].Items, id) {
			t.Fatalf("%v: %+v; wanted %s of %s", order, d, want, id)
		}
	})
}

// However the place is lost after an interruption, that and nothing else is named.
func TestPlaceLosingIsNamedAsItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &performer{t: t, sheet: anySheet(t)}
		for i := range p.sheet.Items {
			p.sheet.Items[i].Rank = i // a groupmate would be a right place
		}
		n := len(p.sheet.Items)
		place := rapid.IntRange(1, n-2).Draw(t, "place")
		how := rapid.SampledFrom([]string{"prompted", "twice", "left out", "done after"}).Draw(t, "how")
		id := func(i int) string { return p.sheet.Items[i].ID }
		seen, item := Slip(""), id(place)
		for i := range place {
			p.do(i, well)
		}
		p.befall(id(place))
		next := place
		switch how {
		case "prompted":
			p.add(logbook.Entry{Kind: logbook.Prompted, Item: id(place)})
		case "twice":
			p.now += time.Second
			p.add(logbook.Entry{Kind: logbook.Again, Item: id(place - 1)})
			p.add(logbook.Entry{Kind: logbook.Resumed, Item: id(place - 1), Why: logbook.Twice, Length: time.Second})
			seen, item = Repetition, id(place-1)
		case "left out":
			p.resume(id(place+1), logbook.Elsewhere)
			p.add(logbook.Entry{Kind: logbook.TimedOut, Item: id(place)})
			seen, item, next = Omission, id(place+1), place+2
		case "done after":
			p.resume(id(place+1), logbook.Elsewhere)
			p.do(place, well)
			seen, item, next = Reversal, id(place+1), place+2
		}
		for i := next; i < n; i++ {
			p.do(i, well)
		}
		r := Judge(p.sheet, p.end(true))
		d := r.Order.Deviations
		if len(d) != 1 || d[0].Kind != PlaceLosing || d[0].SeenAs != seen || !slices.Equal(d[0].Items, []string{item}) {
			t.Fatalf("%s: %+v; wanted it seen as %q at %s", how, d, seen, item)
		}
		if in := r.Injections[0]; in.Place != PlaceLost || in.ShouldHaveBeen != id(place) || r.Resuming.Lost != 1 {
			t.Fatalf("%s: %+v", how, in)
		}
	})
}

// omit takes an item out of a log as if it had never been done.
func omit(log []logbook.Entry, id string) []logbook.Entry {
	without := slices.DeleteFunc(slices.Clone(log), func(e logbook.Entry) bool {
		return e.Item == id && (e.Kind == logbook.Done || e.Kind == logbook.Answer)
	})
	end := len(without)
	if end > 0 && without[end-1].Kind == logbook.End {
		end--
	}
	return slices.Insert(without, end, logbook.Entry{Kind: logbook.TimedOut, Item: id})
}

// Whatever else went wrong, and in whatever order: leaving out one item more never makes the order look better.
func TestOmissionNeverRaisesTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &performer{t: t, sheet: anySheet(t)}
		order := rapid.Permutation(rightOrder(t, p.sheet)).Draw(t, "done in the order")
		if rapid.Bool().Draw(t, "almost right") {
			order = rightOrder(t, p.sheet)
			k := rapid.IntRange(0, len(order)-2).Draw(t, "swapped")
			order[k], order[k+1] = order[k+1], order[k]
		}
		hows := []string{well, early, late, not, again, strayed, wrongly}
		for _, i := range order {
			p.do(i, rapid.SampledFrom(hows).Draw(t, "how"))
		}
		log := p.end(rapid.Bool().Draw(t, "complete"))
		r := Judge(p.sheet, log)
		if len(r.Order.Done) == 0 {
			return
		}
		id := rapid.SampledFrom(r.Order.Done).Draw(t, "left out")
		worse := Judge(p.sheet, omit(log, id))
		if *worse.Order.Figure > *r.Order.Figure || worse.Order.InPlace > r.Order.InPlace || worse.Order.Wanted != r.Order.Wanted {
			t.Fatalf("without %s the order rose from %v (%d of %d) to %v (%d of %d); done %s", id,
				*r.Order.Figure, r.Order.InPlace, r.Order.Wanted, *worse.Order.Figure, worse.Order.InPlace, worse.Order.Wanted, strings.Join(r.Order.Done, ""))
		}
		if !slices.Contains(worse.Order.Omitted, id) {
			t.Fatalf("%s was left out, and %v is said to have been", id, worse.Order.Omitted)
		}
	})
}

// indel is the edit distance of two sequences with insertions and omissions, a move being one of each, by the table of
// Wagner and Fischer (1974), Journal of the ACM 21(1):168-173.
func indel(a, b []int) int {
	row := make([]int, len(b)+1)
	for k := range row {
		row[k] = k
	}
	for i := range a {
		corner := row[0]
		row[0] = i + 1
		for k := range b {
			above := row[k+1]
			row[k+1] = min(above, row[k]) + 1
			if a[i] == b[k] {
				row[k+1] = corner
			}
			corner = above
		}
	}
	return row[len(b)]
}

// Of fixtures on abcdef the distance is known: one omission is 1, a swap of neighbours or the last moved first is 2.
func TestIndel(t *testing.T) {
	for _, c := range []struct {
		done string
		want int
	}{{"abcdef", 0}, {"abcef", 1}, {"abccdef", 1}, {"abdcef", 2}, {"fabcde", 2}, {"fedcba", 10}, {"", 6}} {
		got := indel([]int(ordsOf("abcdef")), ordsOf(c.done))
		if got != c.want {
			t.Errorf("%s is %d from abcdef; wanted %d", c.done, got, c.want)
		}
	}
}

func ordsOf(s string) []int {
	var out []int
	for _, r := range s {
		out = append(out, int(r))
	}
	return out
}

// The alignment is the best there is: against every order that the groups allow, the edit distance of what was done is at
// least what the alignment left out of both, and against one of them it is that.
func TestAlignmentIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "items")
		s := &Sheet{Abnormals: map[string]*scenario.Abnormal{}}
		rank := 0
		for i := range n {
			if i == 0 || rapid.Bool().Draw(t, "new rank") {
				rank++
			}
			s.Items = append(s.Items, Item{ID: string(rune('a' + i)), Kind: procedure.Set, Limit: time.Second, Rank: rank})
		}
		all := make([]int, n)
		for i := range all {
			all[i] = i
		}
		done := rapid.Permutation(all).Draw(t, "done")[:rapid.IntRange(0, n).Draw(t, "how many")]
		w := &scribe{}
		for k, i := range done {
			w.done(s.Items[i].ID, 1000*(k+1), true)
		}
		o := Judge(s, w.end(true)).Order
		best := 2 * n
		everyOrder(slices.Clone(all), 0, func(order []int) {
			if slices.IsSortedFunc(order, func(a, b int) int { return s.Items[a].Rank - s.Items[b].Rank }) {
				best = min(best, indel(order, done))
			}
		})
		if left := n + len(done) - 2*o.InPlace; left != best {
			t.Fatalf("%v of %+v: the alignment leaves out %d; %d is the least", done, s.Items, left, best)
		}
	})
}

// everyOrder calls f with every permutation.
func everyOrder(list []int, from int, f func([]int)) {
	if from == len(list) {
		f(list)
		return
	}
	for i := from; i < len(list); i++ {
		list[from], list[i] = list[i], list[from]
		everyOrder(list, from+1, f)
		list[from], list[i] = list[i], list[from]
	}
}
