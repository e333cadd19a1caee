package bench
import ("testing";"fmt";"os";"time";"hornlark/drill";"hornlark/drill/library";"hornlark/drill/scenario")
func TestDebug(t *testing.T) {
	lib, err := library.Builtin(); if err != nil { t.Fatal(err) }
	name := os.Getenv("SC")
	b, err := lib.Resolve(name); if err != nil { t.Fatal(err) }
	ex, err := drill.Compile(drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: lib.Abnormals(), Policy: scenario.PolicyName(os.Getenv("POL"))})
	if err != nil { t.Fatal(err) }
	n := time.Now(); for range 1000 { ex.Begin(7, 0) }; fmt.Println("begin", time.Since(n)/1000)
	s := ex.Begin(7, 60*time.Millisecond)
	tr, err := NewTrainee(ex, s, &scenario.Answers{StartFrom: "perfect"}); if err != nil { t.Fatal(err) }
	n = time.Now()
	err = drill.Run(s, tr, drill.EstimatedLength, func(o drill.Output) error { fmt.Println(o.Describe()); return nil })
	fmt.Println(err, time.Since(n))
}
