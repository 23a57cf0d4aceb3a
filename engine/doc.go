// Package engine runs a procedure: a list of parts and steps that a person
// goes through, written in YAML. It is a pure machine. It is handed answers and
// hands back prompts and events; it knows no clock, no disk, no screen and no
// physics, and it doesn't know what a car's engine is: whatever a procedure is
// about comes through the interfaces of package subject.
//
// Start with Load, which reads a procedure and reports every fault at once,
// then with Run:
//
//	for {
//		if event, due := run.Settle(); due { record(event); run.Apply(event); continue }
//		prompt, open := run.Next()
//		if !open { break }
//		answer := ask(prompt)
//		events, err := run.Propose(prompt, answer) // err: say why, ask again
//		for _, event := range events { record(event); run.Apply(event) }
//	}
//
// Recording comes before applying: what a Run knows is on disk already. A Run
// is rebuilt by applying its recorded events in order; the same events give the
// same state.
//
// A step's id is not an address inside rounds. Answers are addressed by slots:
// "displacement", "walk.2/runs.3/value".
package engine
