package main

import (
	"fmt"

	"hornlark/drill/debrief"
	"hornlark/drill/practice"
)

// foretold says in words by which weights a trainee is foretold, and how what was said so far came true. Nothing before the first look. The interval takes
// looks as if each stood by itself; since those of one thing hang together it is rather too narrow.
func foretold(who string, k *practice.Known) (lines []string) {
	looks := k.Said.Looks
	if looks == 0 {
		return nil
	}
	f := &k.Fit
	switch {
	case f.Used:
		lines = append(lines, fmt.Sprintf("How %s forgets was taken from %d looks: by that, %d that had not been seen yet were foretold better than by the figures of learners in general (mean log loss %.2f, not %.2f).",
			who, f.Looks, f.Held, f.After, f.Before))
	case f.Held > 0:
		lines = append(lines, fmt.Sprintf("The figures are those of learners in general: what was taken from %d looks of %s foretold others no better (mean log loss %.2f, not %.2f).",
			f.Looks, who, f.After, f.Before))
	default:
		lines = append(lines, fmt.Sprintf("The figures are those of learners in general. How %s forgets is taken from %d looks on, on several days; so far there are %d.",
			who, max(practice.FirstFit, f.Looks+1), looks))
	}
	all := k.Said.All()
	low, high := practice.Wilson(all.Right, all.Looks)
	lines = append(lines, fmt.Sprintf("So far %s was said to be known, and %s was (95 %%: %s to %s), in %s: things met again on another day, and not told. Brier score %.2f.",
		percent(all.Said()), percent(all.Came()), percent(low), percent(high), debrief.Count(looks, "look"), k.Said.Brier()))
	return lines
}

// foretoldJSON is the same as a program reads it.
type foretoldJSON struct {
	Looks       int           `json:"looks"`       // trials of something met again on another day, not told
	Said        float64       `json:"said"`        // mean of the probabilities given before them, 0 to 1
	CameTrue    float64       `json:"came_true"`   // the part of them that was known
	Brier       float64       `json:"brier_score"` // mean square of said less came true; nearly reliability - resolution + uncertainty
	Reliability float64       `json:"reliability"`
	Resolution  float64       `json:"resolution"`
	Uncertainty float64       `json:"uncertainty"`
	Bins        []foretoldBin `json:"bins"`      // by tenths of what was said, those with looks
	Fitted      bool          `json:"fitted"`    // the weights are the trainee's own
	FitLooks    int           `json:"fit_looks"` // looks when they were last tried to be fitted, 0 if not yet
	HeldOut     int           `json:"held_out"`  // looks they were tried on unseen
	Loss        float64       `json:"loss"`      // mean log loss over these, nats, fitted
	LossGeneral float64       `json:"loss_general"`
}

type foretoldBin struct {
	From     float64 `json:"from"`
	Looks    int     `json:"looks"`
	Said     float64 `json:"said"`
	CameTrue float64 `json:"came_true"`
	Low      float64 `json:"low"` // bounds of the share that came true, with 95 % confidence
	High     float64 `json:"high"`
}

func foretoldOf(k *practice.Known) foretoldJSON {
	all := k.Said.All()
	out := foretoldJSON{
		Looks: k.Said.Looks, Said: all.Said(), CameTrue: all.Came(), Brier: k.Said.Brier(), Bins: []foretoldBin{},
		Fitted: k.Fit.Used, FitLooks: k.Fit.Looks, HeldOut: k.Fit.Held, Loss: k.Fit.After, LossGeneral: k.Fit.Before,
	}
	out.Reliability, out.Resolution, out.Uncertainty = k.Said.Murphy()
	for i := range k.Said.Bins {
		if b := &k.Said.Bins[i]; b.Looks > 0 {
			low, high := practice.Wilson(b.Right, b.Looks)
			out.Bins = append(out.Bins, foretoldBin{float64(i) / practice.CalibrationBins, b.Looks, b.Said(), b.Came(), low, high})
		}
	}
	return out
}
