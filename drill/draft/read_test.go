package draft

import (
	"fmt"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
)

// listed is a checklist as the tests have it: a phase in brackets, then its lines.
func listed(c *Checklist) string {
	var b strings.Builder
	if c.Title != "" {
		fmt.Fprintf(&b, "= %s\n", c.Title)
	}
	for _, p := range c.Phases {
		fmt.Fprintf(&b, "[%s]\n", p.Title)
		for _, l := range p.Lines {
			fmt.Fprintf(&b, "%d %s | %s\n", l.Row, l.Challenge, l.Response)
		}
	}
	for _, l := range c.Left {
		fmt.Fprintf(&b, "left %d %s\n", l.Row, l.Challenge)
	}
	return b.String()
}

func TestRead(t *testing.T) {
	for _, c := range []struct {
		name   string
		format Format
		text   string
		want   string
	}{
		{"dots", Text, "Battery ..... ON\nPump . . . . ON\nGen……on\nInverter … on\nLamp····on\nLt․․․․on\nHeat _____ off", "[]\n1 Battery | ON\n2 Pump | ON\n3 Gen | on\n4 Inverter | on\n5 Lamp | on\n6 Lt | on\n7 Heat | off\n"},
		{"tabs and columns", Text, "Battery\tON\nPump 1    OFF", "[]\n1 Battery | ON\n2 Pump 1 | OFF\n"},
		{"a comma, a colon, a dash, an arrow", Text, "Battery, on\nPump: on\nGen - on\nLamp – on\nHeat -> off\nDoors → closed\nLevers, both: shut", "[]\n1 Battery | on\n2 Pump | on\n3 Gen | on\n4 Lamp | on\n5 Heat | off\n6 Doors | closed\n7 Levers, both | shut\n"},
		{"decimals are no dots", Text, "Volts, 24.5 or more", "[]\n1 Volts | 24.5 or more\n"},
		{"headings", Text, "My list\n\nStart\n-----\nBattery .... on\nBriefing\n\nStop:\n1. Battery ... off\n\n== Last ==\na) Doors ... open\n", "= My list\n[Start]\n5 Battery | on\n6 Briefing | \n[Stop]\n9 Battery | off\n[Last]\n12 Doors | open\n"},
		{"titles in capitals, close to the rows", Text, "BEFORE START\nBattery ..... ON\nRotor brake .. Off\nENGINE START 1\nPump .... ON\nVHF COM\nGen .... ON\n", "[BEFORE START]\n2 Battery | ON\n3 Rotor brake | Off\n[ENGINE START 1]\n5 Pump | ON\n6 VHF COM | \n7 Gen | ON\n"},
		{"all of it in capitals", Text, "BEFORE START\nBATTERY ..... ON\nCREW BRIEFING\nPUMP .... ON\n", "[BEFORE START]\n2 BATTERY | ON\n3 CREW BRIEFING | \n4 PUMP | ON\n"},
		{"a title of two rows, a note", Text, "Our base\nList - of the type\n\n1. Start\n  1.1 Battery .... on\n  Note: keep clear of it.\n", "= Our base\n[Start]\n5 Battery | on\nleft 6 Note: keep clear of it\n"},
		{"boxes", Text, "[ ] Battery ... on\n□ Pump ... on\n• Gen ... on\n- Lamp ... on\n2.3 Doors ... shut", "[]\n1 Battery | on\n2 Pump | on\n3 Gen | on\n4 Lamp | on\n5 Doors | shut\n"},
		{"line ends of elsewhere", Text, "\ufeffA ... b\r\nC ... d\rE ... f", "[]\n1 A | b\n2 C | d\n3 E | f\n"},
		{"what acts", Text, "Bat\x1b[31mtery ... o\u202en", "[]\n1 Bat [31mtery | o n\n"},
		{"markdown list", Markdown, "# L\n\nSome words, and more.\n\n## Start\n\n- **Battery**: *on*\n- Pump ... `on`\n  - Gen \\- on\n- Fuel &amp; oil — seen\n\n1. Doors\n", "= L\n[Start]\n7 Battery | on\n8 Pump | on\n9 Gen | on\n10 Fuel & oil | seen\n12 Doors | \nleft 3 Some words, and more.\n"},
		{"markdown table", Markdown, "## S\n\n| Item | Action |\n|---|---|\n| Battery | ON |\n| Pump \\| 1 | on |\n\n| A | B |\n|---|---|\n| C | D |\n", "[S]\n5 Battery | ON\n6 Pump | 1 | on\n8 A | B\n10 C | D\n"},
		{"markdown code", Markdown, "```\nBattery ...... ON\nwords\n```\n", "[]\n2 Battery | ON\nleft 3 words\n"},
		{"table", CSV, "Battery,ON\n\"Doors, both\",\"closed\"\n", "[]\n1 Battery | ON\n2 Doors, both | closed\n"},
		{"table with headings inside", CSV, "Start,\nBattery,ON\nStop,,\nBattery,OFF\n", "[Start]\n2 Battery | ON\n[Stop]\n4 Battery | OFF\n"},
		{"named columns", CSV, "No;Response;Challenge;Phase;Remark\n1;ON;Battery;Start;by hand\n2;OFF;Pump;;\n", "[Start]\n2 Battery | ON\n3 Pump | OFF\nleft 2 by hand\n"},
		{"counted rows", CSV, "1\tBattery\tON\n2\tPump\tOFF\tlate\n", "[]\n1 Battery | ON\n2 Pump | OFF\nleft 2 late\n"},
	} {
		list, err := Read([]byte(c.text), c.format)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		} else if got := listed(list); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

// A file of a word processor says the same as one in UTF-8: the ellipsis is 85, the middle dot B7 and the dash 96 in Windows-1252.
func TestReadsWindows1252(t *testing.T) {
	const text = "Battery …… on\nPump ···· on\nRear door – geöffnet\n"
	old, err := charmap.Windows1252.NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(old, "\x85\x85") || !strings.Contains(old, "\xb7\xb7") || !strings.Contains(old, "\x96") {
		t.Fatalf("%q", old)
	}
	a, errA := Read([]byte(text), Text)
	b, errB := Read([]byte(old), Text)
	if errA != nil || errB != nil || listed(a) != listed(b) || a.Count() != 3 {
		t.Errorf("%v %v\n%s\n%s", errA, errB, listed(a), listed(b))
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"nothing":           {"\n\n", "no line of a checklist"},
		"only a heading":    {"Before start\n", "no line of a checklist"},
		"bytes":             {"PK\x03\x04\x00\x00", "no text"},
		"too long":          {strings.Repeat("A ..... b\n", MaxBytes/10+1), "256 KB"},
		"too many lines":    {strings.Repeat("A ... b\n", MaxLines+1), "401 lines"},
		"too many headings": {strings.Repeat("H:\nA ... b\n", 41), "41 headings"},
	} {
		if list, err := Read([]byte(c.text), Text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, %v", name, list, err)
		}
	}
	if list, err := Read([]byte(strings.Repeat("A ... b\n", MaxLines)), Text); err != nil || list.Count() != MaxLines {
		t.Errorf("as many as there may be: %v", err)
	}
}

func TestFormatOf(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Format
	}{
		{"a.md", "x", Markdown}, {"a.CSV", "x", CSV}, {"a.tsv", "x", CSV}, {"a.txt", "x, y", Text}, {"-", "# L\n\n- a: b", Markdown}, {"-", "| a | b |\n", Markdown}, {"-", "a ... b", Text},
	} {
		if got := FormatOf(c.name, []byte(c.text)); got != c.want {
			t.Errorf("%s %q is taken for %s", c.name, c.text, got)
		}
	}
}

// Marks that stand inside one another as deep as a file is long are refused, and do not hold anybody up.
func TestReadRefusesDeepNesting(t *testing.T) {
	for _, mark := range []string{">", "> ", "- ", "* ", "1. ", "> - ", "12)\t"} {
		if _, err := Read([]byte("A: b\n"+strings.Repeat(mark, MaxBytes/len(mark)/2)), Markdown); err == nil || !strings.Contains(err.Error(), "begin in row 2") {
			t.Errorf("%q: %v", mark, err)
		}
		if list, err := Read([]byte(strings.Repeat(mark, 9)+"Battery: on\n\n----------------------------------------------------------\n"), Markdown); err != nil && !strings.Contains(mark, ">") {
			t.Errorf("%q: %v %v", mark, list, err)
		}
	}
}
