package record

import (
	"database/sql"
	"time"
)

// Summary is what a trend needs of one sitting, as it was judged when it ended.
type Summary struct {
	ID         int64
	Trainee    string
	Plan       string // hash of its documents
	Scenario   string
	Procedure  string
	Policy     string
	Started    time.Time
	State      State
	Passed     bool
	Asked      int      // items
	Right      int      // of them
	Reactions  int      // how many the median rests on
	ReactionMS *float64 // median from challenge to press; nil without any
}

// Summaries gives the sittings that the filter chooses, the oldest first. Of one that has not ended all figures are zero.
func (s *Store) Summaries(f Filter) ([]Summary, error) {
	where, args := f.where()
	return collect(s, `SELECT s.id, coalesce(t.name, ''), s.plan, s.scenario, s.procedure, s.policy, s.started_ns, `+stateOf+`,
		coalesce(u.passed, 0), coalesce(u.asked, 0), coalesce(u.done_right, 0), coalesce(u.reactions, 0), u.reaction_ms
		FROM sitting s LEFT JOIN trainee t ON t.id = s.trainee LEFT JOIN result r ON r.sitting = s.id
		LEFT JOIN summary u ON u.sitting = s.id`+where+" ORDER BY s.place, s.id", args, scanSummary)
}

func scanSummary(rows *sql.Rows) (Summary, error) {
	var u Summary
	var started int64
	err := rows.Scan(&u.ID, &u.Trainee, &u.Plan, &u.Scenario, &u.Procedure, &u.Policy, &started, &u.State,
		&u.Passed, &u.Asked, &u.Right, &u.Reactions, &u.ReactionMS)
	u.Started = time.Unix(0, started)
	return u, err
}

// Injections gives the injections of the sittings that have ended, of those that the filter chooses, the oldest first. Those
// that never showed themselves are among them.
func (s *Store) Injections(f Filter) ([]Injection, error) {
	where, args := f.where()
	return collect(s, `SELECT coalesce(t.name, ''), i.abnormal, i.harmless, i.outcome, s.started_ns, i.detection_ms, i.handling_ms
		FROM sitting s LEFT JOIN trainee t ON t.id = s.trainee JOIN result r ON r.sitting = s.id
		JOIN injection i ON i.sitting = s.id`+where+" ORDER BY s.place, s.id, i.number", args, scanInjection)
}

func scanInjection(rows *sql.Rows) (Injection, error) {
	var i Injection
	var started int64
	err := rows.Scan(&i.Trainee, &i.Abnormal, &i.Harmless, &i.Outcome, &started, &i.DetectionMS, &i.HandlingMS)
	i.Started = time.Unix(0, started)
	return i, err
}
