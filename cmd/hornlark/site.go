package main

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"hornlark/cmd/hornlark/web"
	"hornlark/drill/debrief"
	"hornlark/drill/score"
)

// site is what several sittings are sat on, and what is read between them: one page of a browser, which goes from one to the next by itself.
type site struct{ *web.Site }

// openSite opens it, says where it is, and has a browser open it if that is asked for.
func (o *drillOptions) openSite(ctx context.Context) (*site, error) {
	opened, err := web.OpenSite(ctx, web.SiteOptions{News: o.pageNews()})
	if err != nil {
		return nil, fmt.Errorf("the panel cannot be opened: %w", err)
	}
	o.tellLink(ctx, opened)
	return &site{opened}, nil
}

// tellLink says where a page is, and has a browser open it if that is asked for.
func (o *drillOptions) tellLink(ctx context.Context, site *web.Site) {
	fmt.Fprintf(o.err, "The panel: %s\nOpen it in a browser on this machine; the address lets in one, once. The sitting begins when you do there; Ctrl-C stops.\n", site.Link())
	if o.open {
		browse(ctx, site, func(line string) { fmt.Fprintln(o.err, line) })
	}
}

// pageNews is who is told what becomes of a page; nil: nobody, since a screen stands there.
func (o *drillOptions) pageNews() func(string) {
	if o.terminal {
		return nil
	}
	return func(line string) { fmt.Fprintln(o.err, line) }
}

// wait says what is being made ready.
func (p *site) wait(title string) {
	if p != nil {
		p.Show(web.Sheet{Title: title, Text: []string{"It is being made ready."}})
	}
}

// read has something read, until whoever reads goes on.
func (p *site) read(ctx context.Context, s web.Sheet, on string) error {
	s.Offers = append(s.Offers, web.Offer{Key: keyTonight, Text: on})
	p.Show(s)
	select {
	case <-p.Chosen():
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// report has the report on a sitting read.
func (p *site) report(ctx context.Context, r *report, result *score.Result) {
	if p == nil {
		return
	}
	if r.to.terminal {
		fmt.Fprintln(r.to.out, "\nThe report is on the page too; it goes on there.")
	}
	text := r.text(result)
	p.read(ctx, web.Sheet{Title: titleOf(r.ex.Bundle), Lines: text[1:]}, "Go on")
}

// beforeOnPage has it read what is practised this evening.
func (t *session) beforeOnPage(ctx context.Context) error {
	s := web.Sheet{Title: "Tonight", Lines: linesOf(t.before())}
	if prof, err := t.lib.Profile(t.profile); err == nil {
		s.Caution = debrief.CautionOf(prof)
	}
	if t.options.site.read(ctx, s, "Begin") != nil {
		return errNotBegun
	}
	return nil
}

// afterOnPage has it read what has changed.
func (t *session) afterOnPage(ctx context.Context, on string) {
	if text := t.after(); text != "" {
		t.options.site.read(ctx, web.Sheet{Title: "Tonight", Lines: linesOf(text)[1:]}, on) // the title stands over it
	}
}

// linesOf are the lines of a text, without empty ones around it.
func linesOf(text string) []string { return strings.Split(strings.Trim(text, "\n"), "\n") }

// onPages is whether sittings are begun on a page from the first screen, as it is kept in the folder for settings.
type onPages struct {
	Page bool `json:"page"`
}

// wherePath is where that is kept.
func wherePath() (string, error) {
	path, err := settingsPath()
	return filepath.Join(filepath.Dir(path), "page.json"), err
}

// prefersPage reports whether they are. What cannot be read is what there is without it: it is chosen again by a key.
func prefersPage() bool {
	path, err := wherePath()
	if err != nil {
		return false
	}
	data, err := readSettings(path)
	var is onPages
	return err == nil && json.Unmarshal(data, &is) == nil && is.Page
}

// keepPage keeps it, for the next time.
func keepPage(page bool) error {
	path, err := wherePath()
	if err == nil {
		err = saveSettings(path, onPages{page})
	}
	if err != nil {
		return fmt.Errorf("where sittings are sat cannot be remembered: %w", err)
	}
	return nil
}
