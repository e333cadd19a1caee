package library

import "hornlark/drill/scenario"

// ReadAnswers reads a file of answers. The error is Problems.
func ReadAnswers(path string) (*scenario.Answers, error) {
	f, problem := readFile(path)
	if problem != nil {
		return nil, Problems{*problem}
	}
	d, problems := parse(f.name, f.data)
	if len(problems) > 0 {
		return nil, problems
	}
	answers := new(scenario.Answers)
	if problems = d.decode(answers); len(problems) == 0 {
		problems = d.locate(answers.Check())
	}
	return answers, problems.Err()
}
