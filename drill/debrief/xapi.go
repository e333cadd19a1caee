package debrief

import (
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"

	"hornlark/drill/score"
)

// Home is the home page of a trainee's account where an organisation gives none of its own, and where our vocabulary
// stands. It leads nowhere: RFC 2606 keeps its top-level domain for examples.
const Home = "https://hornlark.example"

// Statements are the xAPI statements of a sitting (IEEE 9274.1.1, and ADL's version 1.0.3 of the same): one for the
// sitting, one for each item that was reached, and one for each injection in which something was to be noticed, or left alone. Their ids hang on nothing
// but the sitting's uid, so that a store that has been given them before knows them. home is an IRI, the home page of the
// organisation whose account the trainee has.
func Statements(s *Sitting, home string) []Statement {
	t := timesOf(s.Log)
	x := xapi{s: s, times: t, actor: agent{"Agent", account{home, s.Trainee}}}
	if s.Trainee == "" {
		x.actor.Account.Name = "unnamed"
	}
	list := []Statement{x.sitting()}
	for i := range s.Result.Items {
		switch it := &s.Result.Items[i]; it.Outcome {
		case score.NotAsked, score.NotReached:
		default:
			list = append(list, x.item(it))
		}
	}
	for i := range s.Result.Injections {
		switch in := &s.Result.Injections[i]; in.Outcome {
		case score.Unseen, score.Stood, score.Cleared:
		default:
			list = append(list, x.injection(in))
		}
	}
	return list
}

// Statement is one xAPI statement.
type Statement struct {
	ID        string    `json:"id"`
	Actor     agent     `json:"actor"`
	Verb      verb      `json:"verb"`
	Object    activity  `json:"object"`
	Result    xresult   `json:"result"`
	Context   *xcontext `json:"context,omitempty"`
	Timestamp string    `json:"timestamp"` // RFC 3339, UTC, milliseconds
}

// agent is a trainee, by an account and never by an address.
type agent struct {
	ObjectType string  `json:"objectType"`
	Account    account `json:"account"`
}

type account struct {
	HomePage string `json:"homePage"`
	Name     string `json:"name"`
}

type verb struct {
	ID      string   `json:"id"`
	Display language `json:"display"`
}

type language struct {
	English string `json:"en"`
}

type activity struct {
	ObjectType string      `json:"objectType"`
	ID         string      `json:"id"`
	Definition *definition `json:"definition,omitempty"`
}

type definition struct {
	Name            language `json:"name"`
	Type            string   `json:"type"`
	InteractionType string   `json:"interactionType,omitempty"`
}

type xresult struct {
	Score      *xscore        `json:"score,omitempty"`
	Success    bool           `json:"success"`
	Completion *bool          `json:"completion,omitempty"`
	Response   string         `json:"response,omitempty"`
	Duration   string         `json:"duration,omitempty"`
	Extensions map[string]any `json:"extensions,omitempty"`
}

type xscore struct {
	Scaled float64 `json:"scaled"`
	Raw    float64 `json:"raw"`
	Min    float64 `json:"min"`
	Max    float64 `json:"max"`
}

type xcontext struct {
	Registration string            `json:"registration"`
	Platform     string            `json:"platform"`
	Activities   contextActivities `json:"contextActivities"`
	Extensions   map[string]any    `json:"extensions,omitempty"`
}

type contextActivities struct {
	Parent   []activity `json:"parent,omitempty"`
	Grouping []activity `json:"grouping,omitempty"`
}

// namespace makes the ids of our statements ours: drawn once, at random.
var namespace = uuid.MustParse("5f0f8a3e-3c7b-4b0e-9d8e-6a1c2f4b7d10")

type xapi struct {
	s     *Sitting
	times times
	actor agent
}

// id is a UUID of version 5 (RFC 9562), by SHA-1 of a name.
func (x *xapi) id(parts ...string) string {
	return uuid.NewSHA1(namespace, []byte(strings.Join(append([]string{x.s.UID}, parts...), "/"))).String()
}

// verbOf is a verb of ADL's vocabulary.
func verbOf(name string) verb {
	return verb{"http://adlnet.gov/expapi/verbs/" + name, language{name}}
}

func passedOr(passed bool) verb {
	if passed {
		return verbOf("passed")
	}
	return verbOf("failed")
}

// kinds of activity, of ADL's vocabulary.
const (
	simulation  = "http://adlnet.gov/expapi/activities/simulation"
	interaction = "http://adlnet.gov/expapi/activities/cmi.interaction"
	objective   = "http://adlnet.gov/expapi/activities/objective"
)

func iri(parts ...string) string { return Home + "/xapi/" + strings.Join(parts, "/") }

func (x *xapi) scenario() activity {
	title := x.s.Title
	if title == "" {
		title = x.s.Scenario
	}
	return activity{"Activity", iri("scenarios", slug(x.s.Scenario)), &definition{Name: language{title}, Type: simulation}}
}

// slug keeps an IRI an IRI whatever a name holds.
func slug(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_' {
			return r
		}
		return '-'
	}, name)
}

func (x *xapi) context(parent bool) *xcontext {
	c := &xcontext{
		Registration: x.id("registration"), Platform: "Hornlark " + x.s.Version,
		Activities: contextActivities{Grouping: []activity{{"Activity", iri("procedures", slug(x.s.Procedure)), nil}}},
		Extensions: map[string]any{
			iri("extensions", "policy"): x.s.Policy, iri("extensions", "seed"): fmt.Sprint(x.s.Seed), iri("extensions", "caution"): x.s.warns(),
		},
	}
	if x.s.Moved != 0 {
		c.Extensions[iri("extensions", "date-set")] = true
	}
	if parent {
		c.Activities.Parent = []activity{x.scenario()}
	}
	return c
}

func (x *xapi) sitting() Statement {
	r := x.s.Result
	right, asked := 0, 0
	for _, it := range r.Items {
		if it.Outcome == score.Right {
			right++
		}
		if it.Outcome != score.NotAsked {
			asked++
		}
	}
	result := xresult{
		Success: r.Passed, Completion: &r.Completed, Duration: duration(x.times.end),
		Extensions: map[string]any{iri("extensions", "sound-trusted"): r.Trusted},
	}
	if asked > 0 {
		result.Score = &xscore{float64(right) / float64(asked), float64(right), 0, float64(asked)}
	}
	if n := r.Reactions.Count; n > 0 {
		result.Extensions[iri("extensions", "median-reaction-ms")] = r.Reactions.MedianMS
		result.Extensions[iri("extensions", "reactions")] = n
	}
	if acts := r.Instructed; len(acts) > 0 {
		var list []string
		for _, act := range acts {
			list = append(list, Running(act.AtMS)+" "+Names{Items: x.s.Names}.Did(act))
		}
		result.Extensions[iri("extensions", "instructed")] = list
	}
	if len(r.Remarks) > 0 {
		result.Extensions[iri("extensions", "remarks")] = r.Remarks
	}
	v := verbOf("terminated")
	if r.Completed || r.CutShort() {
		v = passedOr(r.Passed)
	}
	return Statement{
		ID: x.id("sitting"), Actor: x.actor, Verb: v, Object: x.scenario(), Result: result,
		Context: x.context(false), Timestamp: x.s.Started.Add(x.times.end).UTC().Format(stamp),
	}
}

func (x *xapi) item(it *score.ItemResult) Statement {
	name := x.s.Names[it.ID]
	if name == "" {
		name = it.ID
	}
	result := xresult{Success: it.Outcome == score.Right, Response: string(it.Outcome)}
	if it.SetBack {
		result.Extensions = map[string]any{iri("extensions", "set-back"): true}
	}
	if it.ReactionMS != nil {
		if result.Extensions == nil {
			result.Extensions = map[string]any{}
		}
		result.Extensions[iri("extensions", "reaction-ms")] = *it.ReactionMS
		if *it.ReactionMS >= 0 { // a callout may come before its moment
			result.Duration = duration(time.Duration(*it.ReactionMS * float64(time.Millisecond)))
		}
	}
	return Statement{
		ID: x.id("item", it.ID), Actor: x.actor, Verb: verbOf("answered"),
		Object: activity{"Activity", iri("procedures", slug(x.s.Procedure), "items", slug(it.ID)),
			&definition{Name: language{name}, Type: interaction, InteractionType: "other"}},
		Result: result, Context: x.context(true),
		Timestamp: x.s.at(x.times.item, it.ID, x.times.end).UTC().Format(stamp),
	}
}

func (x *xapi) injection(in *score.InjectionResult) Statement {
	well := in.Outcome == score.Handled || in.Outcome == score.LeftAlone
	result := xresult{Success: well, Response: string(in.Outcome), Extensions: map[string]any{iri("extensions", "look-alike"): in.Harmless}}
	if in.Inserted {
		result.Extensions[iri("extensions", "inserted")] = true
	}
	if in.DetectionMS != nil {
		result.Extensions[iri("extensions", "detection-ms")] = *in.DetectionMS
	}
	if in.HandlingMS != nil {
		result.Extensions[iri("extensions", "handling-ms")] = *in.HandlingMS
		result.Duration = duration(time.Duration(*in.HandlingMS * float64(time.Millisecond)))
	}
	title := in.Title
	if title == "" {
		title = in.Abnormal
	}
	return Statement{
		ID: x.id("injection", in.Name), Actor: x.actor, Verb: passedOr(well),
		Object: activity{"Activity", iri("abnormals", slug(in.Abnormal)), &definition{Name: language{title}, Type: objective}},
		Result: result, Context: x.context(true),
		Timestamp: x.s.at(x.times.injection, in.Name, x.times.end).UTC().Format(stamp),
	}
}

// duration is that of ISO 8601, to 0.01 s: xAPI allows no more (1.0.3, part 2, section 4.6).
func duration(d time.Duration) string {
	return fmt.Sprintf("PT%.2fS", max(d, 0).Truncate(10*time.Millisecond).Seconds())
}
