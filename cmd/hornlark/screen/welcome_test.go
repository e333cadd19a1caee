package screen

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
)

// pressed gives a page the keys that a terminal sends, and what they led to: keys of choices, and "left".
func pressed(p *welcomePage, bytes string) (led []string) {
	d := decoder{layout: QWERTY}
	take := func(s Stroke) {
		key, left := p.stroke(s)
		switch {
		case left:
			led = append(led, "left")
		case key != "":
			led = append(led, key)
		}
	}
	for i := range len(bytes) { // each in a read of its own, as they are typed
		d.feed(time.Unix(int64(i), 0), []byte{bytes[i]}, take)
	}
	d.expire(take)
	return led
}

// What keys lead to: those of choices, those that are always there, and characters of an answer while something is asked.
func TestKeysOfTheFirstScreen(t *testing.T) {
	bad := func(s string) error {
		if s == "bad" {
			return errors.New("that is no name")
		}
		return nil
	}
	ask := &Ask{Prompt: "Who?", Known: []string{"kim", "lee one", "lee two"}, Check: bad}
	must := &Ask{Prompt: "Who?", Must: true}
	for _, test := range []struct {
		name, open, keys string
		led              string
		answer, shown    string
	}{
		{name: "a choice", keys: "\r", led: "enter"},
		{name: "capital", keys: "X", led: "x"},
		{name: "what nobody offers", keys: "zy\t 7", led: ""},
		{name: "minutes", keys: "+=-", led: "+ + -"},
		{name: "sound", keys: "s", led: "s"},
		{name: "q", keys: "q", led: "left"},
		{name: "Esc", keys: "\x1b", led: "left"},
		{name: "Ctrl-C", keys: "\x03", led: "left"},
		{name: "a question opens", keys: "nq", led: "", answer: "q", shown: "Who? q"},
		{name: "and is answered", keys: "nLee S-1+\r", led: "n", answer: "Lee S-1+"},
		{name: "blanks around it", keys: "n  kim \r", led: "n", answer: "kim"},
		{name: "taken back", keys: "nkix\x7fm\x7f\x7f\x7f\x7f\x7fa\r", led: "n", answer: "a"},
		{name: "closed", keys: "nki\x1b", led: "", shown: "kim sits here"},
		{name: "wrong", keys: "nbad\r", led: "", answer: "bad", shown: "that is no name"},
		{name: "and mended", keys: "nbad\r\x7f\x7f\x7fkim\r", led: "n", answer: "kim"},
		{name: "completed", keys: "nk\t\r", led: "n", answer: "kim"},
		{name: "as far as they agree", keys: "nl\tt\t\r", led: "n", answer: "lee two"},
		{name: "nothing like it", keys: "nx\t\r", led: "n", answer: "x"},
		{name: "no letter of the cockpit", keys: "nŽofie\r", led: "n", answer: "Žofie"},
		{name: "open at first", open: "m", keys: "\r", led: "m"},
		{name: "and left", open: "m", keys: "\x1b", led: "left"},
		{name: "by Ctrl-C", open: "m", keys: "a\x03", led: "left", answer: "a"},
		{name: "pasted", keys: "n\x1b[200~rm -rf\r\x1b[201~", led: "", shown: "Who?"},
		{name: "too long", keys: "n" + strings.Repeat("ab ", 100), led: "", answer: strings.TrimSpace(strings.Repeat("ab ", 100)[:longestAnswer])},
	} {
		p := &welcomePage{front: Front{Who: "kim sits here", Choices: []Choice{{"enter", "begin", nil}, {"x", "else", nil}, {"n", "who", ask}, {"m", "must", must}}}}
		p.open(test.open)
		led := pressed(p, test.keys)
		if got := strings.Join(led, " "); got != test.led {
			t.Errorf("%s: %q led to %q, want %q", test.name, test.keys, got, test.led)
		}
		if got := p.given(); p.asked != nil && got != test.answer {
			t.Errorf("%s: the answer is %q, want %q", test.name, got, test.answer)
		}
		if got := strings.Join(strings.Fields(ansi.Strip(shot(p, 80, 24, false))), " "); !strings.Contains(got, test.shown) {
			t.Errorf("%s: %q is not shown:\n%s", test.name, test.shown, got)
		}
	}
}

// What a choice leads to is shown at once, and a screen that has nobody to act ends with every choice.
func TestTheFirstScreenActs(t *testing.T) {
	var acted []string
	p := &welcomePage{front: Front{Choices: []Choice{{"n", "who", &Ask{}}}}}
	p.welcome.Act = func(key, answer string) (Front, bool) {
		acted = append(acted, key, answer)
		return Front{Who: answer + " sits here", Choices: []Choice{{"d", "day", &Ask{Given: "2027-03-12"}}}, Asking: "d"}, key == "x"
	}
	pressed(p, "nkim")
	if p.act("n") || !slices.Equal(acted, []string{"n", "kim"}) {
		t.Errorf("it was told of %q", acted)
	}
	if p.front.Who != "kim sits here" || p.asked == nil || p.given() != "2027-03-12" {
		t.Errorf("it shows %+v, asks %v", p.front, p.asked)
	}
	if !p.act("x") {
		t.Error("it does not end")
	}
	p.welcome.Act = nil
	if !p.act("d") || p.act("+") || p.act("-") {
		t.Error("without anybody to act it does not end with a choice, or ends with the minutes")
	}
}

// However many lines there are, the keys stand at the foot, every choice has its place, and the caution is whole.
func TestTheFirstScreenFits(t *testing.T) {
	long := strings.Repeat("long ", 60)
	var choices []Choice
	for _, key := range []string{"enter", "1", "2", "3", "4", "5", "6", "7"} {
		choices = append(choices, Choice{key, "choice " + key + ".", nil})
	}
	for _, size := range [][2]int{{80, 24}, {81, 29}, {80, 30}, {140, 45}} {
		for _, asked := range []*Ask{nil, {Prompt: "Who?", Hint: long}} {
			p := &welcomePage{front: Front{Who: "kim", Next: long, Choices: choices, Hints: []string{long}}, sound: long, asked: asked}
			p.welcome.SoundCheck = func(context.Context) string { return "" }
			lines := strings.Split(ansi.Strip(shot(p, size[0], size[1], false)), "\n")
			all := strings.Join(strings.Fields(strings.Join(lines, " ")), " ")
			if !strings.Contains(all, Caution) {
				t.Errorf("%v: the caution is not whole", size)
			}
			for _, c := range choices {
				if !strings.Contains(all, c.Text) {
					t.Errorf("%v: %q has no place", size, c.Text)
				}
			}
			if foot := lines[size[1]-1]; !strings.Contains(foot, "q leave") && asked == nil || asked != nil && !strings.Contains(foot, "Esc back") {
				t.Errorf("%v: at the foot stands %q", size, foot)
			}
		}
	}
}

// The marked line of a list is always among those that are shown.
func TestAListMoves(t *testing.T) {
	p := &listPage{list: List{Title: "A list", At: 0}}
	for range 100 {
		p.list.Lines = append(p.list.Lines, "line")
	}
	for i := range p.list.Lines {
		p.list.Lines[i] = "line " + string(rune('A'+i/26)) + string(rune('a'+i%26))
	}
	for _, test := range []struct {
		to   move
		want int
	}{
		{moveNone, 0}, {moveUp, 0}, {moveDown, 1}, {movePageDown, 19}, {moveDown, 20}, {movePageUp, 2}, {moveBottom, 99}, {moveDown, 99}, {movePageUp, 81}, {moveUp, 80}, {moveUp, 79}, {moveTop, 0},
	} {
		p.move(test.to)
		got := ansi.Strip(shot(p, 80, 24, false))
		if p.marked() != test.want || !strings.Contains(got, "> "+p.list.Lines[test.want]) {
			t.Errorf("after move %d line %d is marked, want %d:\n%s", test.to, p.marked(), test.want, got)
		}
	}
}
