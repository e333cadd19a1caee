package main

import (
	"context"
	"fmt"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill/debrief"
	"hornlark/drill/score"
)

// panel is the page of a sitting that has been asked for; nil: none.
type panel struct{ *web.Panel }

// openPanel opens the panel if there is to be one, says where it is, and waits until somebody is ready there. An error is that of opening, or
// errNotBegun.
func (o *drillOptions) openPanel(ctx context.Context, ex *desk.Exercise, levels *levels, inputs chan<- desk.Input) (*panel, error) {
	if !o.panel && o.site == nil {
		return nil, nil
	}
	options := web.PanelOptions{
		Profile: ex.Profile, Title: titleOf(ex.Bundle), Caution: debrief.CautionOf(ex.Profile), Policy: ex.Policy(), Help: ex.Scenario.Map,
		Layout: o.keyboard(), Silent: o.silent, Level: levels.turn, Inputs: inputs,
	}
	if o.site != nil {
		options.Before, options.Leave = o.which, "Leave"
		return waitFor(ctx, o.site.Panel(options))
	}
	options.News = o.pageNews()
	p, err := web.OpenPanel(ctx, options)
	if err != nil {
		return nil, fmt.Errorf("the panel cannot be opened: %w", err)
	}
	o.tellLink(ctx, p.Site())
	return waitFor(ctx, p)
}

// waitFor waits until somebody is ready on a page; errNotBegun if nobody will be.
func waitFor(ctx context.Context, p *web.Panel) (*panel, error) {
	select {
	case <-p.Ready():
		return &panel{p}, nil
	case <-p.Left():
	case <-ctx.Done():
	}
	p.Close("the sitting was stopped before it had begun")
	return nil, errNotBegun
}

// report shows the report on the page, which needs nothing else from then on.
func (p *panel) report(r *report, result *score.Result) {
	if p != nil {
		p.Report(r.text(result))
		p.close()
	}
}

func (p *panel) close() {
	if p != nil {
		p.Close("the sitting is over")
	}
}
