package page_test

import (
	"bytes"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"hornlark/drill/debrief/page"
	"hornlark/drill/drilltest/markup"
)

// A reference keeps to the rules of the other pages, and every link in it leads to something.
func TestReferencePage(t *testing.T) {
	r := &page.Reference{
		Title: "Fields of <everything> & more", Words: []string{"What can be written."}, Head: []string{"field", "what it is", "what is written", "as in"}, Caution: "Not for flight: it is made up.",
		Sections: []page.Section{
			{ID: "scenario", Title: "Scenario", About: "An exercise.", Entries: []page.Entry{
				{"scenario-name", "name", "Short name.", "text; needed", "name: first"}, {"scenario-tell", "tell", `When <it> is told.`, "text", ""},
			}},
			{ID: "nothing", Title: "Nothing"},
		},
	}
	var out bytes.Buffer
	if err := r.Write(&out); err != nil {
		t.Fatal(err)
	}
	document, err := html.Parse(&out)
	if err != nil {
		t.Fatal(err)
	}
	markup.SelfContained(t, "reference", document)
	markup.Headings(t, "reference", document)
	markup.Tables(t, "reference", document)
	text := markup.Text(document)
	for _, want := range []string{r.Title, r.Caution, "An exercise.", "name: first", "When <it> is told.", "There is nothing of it."} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said", want)
		}
	}
	ids, links := map[string]int{}, []string{}
	for n := range document.Descendants() {
		for _, a := range n.Attr {
			if a.Key == "id" {
				ids[a.Val]++
			}
			if to, ok := strings.CutPrefix(a.Val, "#"); ok && a.Key == "href" {
				links = append(links, to)
			}
		}
	}
	if len(links) != 4 {
		t.Errorf("there are %d links", len(links))
	}
	for _, to := range links {
		if ids[to] != 1 {
			t.Errorf("#%s is there %d times", to, ids[to])
		}
	}
}
