package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"hornlark/drill/debrief"
	"hornlark/drill/score"
)

// reportWidth is how wide the text report is.
const reportWidth = 80

// outcome is what --json prints.
type outcome struct {
	Scenario string `json:"scenario"`
	Seed     uint64 `json:"seed"`
	Mode     string `json:"mode"`
	Version  string `json:"version"`
	*score.Result
	Caution string `json:"caution"`
}

// judge scores what has been logged.
func (ex *exercise) judge() *score.Result {
	return score.Judge(score.NewSheet(ex.Procedure, ex.Scenario, ex.Abnormals, ex.mode), ex.log)
}

// text is the report in lines. sound says what was heard, and how well its times are known.
func (ex *exercise) text(result *score.Result, sound string) []string {
	return debrief.Text(debrief.Head{
		Scenario: ex.Scenario.Name, Title: ex.Scenario.Title, Trainee: ex.options.trainee,
		Mode: string(ex.mode), Seed: ex.seed, Date: ex.date, Sound: sound,
	}, result, reportWidth)
}

// report prints the result and turns it into the error that gives the exit status.
func (ex *exercise) report(sound string) error {
	result := ex.judge()
	if err := ex.print(result, sound); err != nil {
		return err
	}
	switch {
	case !result.Completed:
		return errStopped
	case !result.Passed:
		return errNotPassed
	}
	return nil
}

// print prints the result, as text or as JSON.
func (ex *exercise) print(result *score.Result, sound string) error {
	if !ex.options.json {
		_, err := fmt.Fprintln(ex.options.out, strings.Join(ex.text(result, sound), "\n"))
		return err
	}
	return printJSON(ex.options.out, outcome{ex.Scenario.Name, ex.seed, string(ex.mode), version, result, debrief.Caution})
}

func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
