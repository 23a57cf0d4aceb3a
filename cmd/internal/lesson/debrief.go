package lesson

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/practice"
)

// Debrief is the truth beside the learner's path, version 1.
type Debrief struct {
	Version int      `json:"practice_debrief"`
	Car     string   `json:"car"`
	Title   string   `json:"title"`
	Seed    uint64   `json:"seed"`
	Level   int      `json:"level"`
	Ended   string   `json:"ended"` // complete, or how it was stopped
	Score   int      `json:"score"` // of 100
	Points  []Points `json:"points"`
	Pieces  []Piece  `json:"pieces"`
	Answer  []string `json:"answer"` // the pieces to change, none to leave the car alone; neighbours that no tap parts stand together
	Guess   *Said    `json:"guess"`  // nil where the learner said nothing
	Program *Said    `json:"program"`
	Taps    Taps     `json:"taps"`
	Setup   Setup    `json:"setup"`

	Findings []Finding `json:"findings"`

	Story string `json:"-"` // what was wrong, in the words of the car's author
}

// Points are those of one part of the score.
type Points struct {
	Part string `json:"part"`
	Got  int    `json:"got"`
	Of   int    `json:"of"`
	Why  string `json:"why"`
}

// Piece is a component as it truly is, beside what the program makes of the
// learner's readings.
type Piece struct {
	Name   string               `json:"name"`
	Fault  string               `json:"fault"` // "" where it is sound
	Loss   float64              `json:"loss_pa"`
	Gain   float64              `json:"gain_percent"` // of power, changed alone
	Judged *assessment.Estimate `json:"judged_pa"`    // nil where the learner's path hasn't this piece
}

// Said is what somebody would change, with how sure.
type Said struct {
	Piece *string `json:"piece"` // nil to leave the car alone
	Sure  float64 `json:"sure"`  // 0 to 1
	Right bool    `json:"right"`

	// Chance is what the learner's own readings give that piece by the program's
	// reckoning, nil where they tell nothing of it.
	Chance *float64 `json:"chance_from_readings"`
}

// Beyond tells whether somebody was surer than the readings allow.
func (s *Said) Beyond() bool { return s.Chance != nil && s.Sure > *s.Chance+tolerated }

// tolerated is how much surer than the readings somebody may be: nobody reckons
// chances to a quarter.
const tolerated = 0.25

// Taps are the places where the gauge was connected.
type Taps struct {
	Used []string `json:"used"`
	Best []string `json:"best"` // those of the program's own advice on the same car
	Runs int      `json:"runs"`
}

// Setup is what was wrong with gauge, hose, taps and driver.
type Setup struct {
	Fault string `json:"fault"` // "" where all was well
	Met   bool   `json:"met"`   // it could be seen
	Fixed bool   `json:"fixed"`
	Late  bool   `json:"late"` // after it had been passed over
	Loose int    `json:"needless"`
}

// What each part of the score is worth; together 100. Help topic practice
// publishes them.
const (
	forPiece   = 35
	forSure    = 10
	forNumbers = 15
	forSetup   = 15
	forSafety  = 15
	forTaps    = 10

	offHold     = 5 // for a hold that was passed although a line wasn't true
	offSkip     = 3
	offNeedless = 3 // for a repair of what was sound
	offTap      = 4 // for each tap more than the best plan used
)

// Debriefed sets the learner's path beside the truth. Best is a bench of the same
// car on which the program's own advice was followed, judged what the program
// makes of the learner's readings, nil for nothing.
func Debriefed(b, best *Bench, judged *assessment.Assessment, seed uint64) *Debrief {
	c := b.Sim.Case
	d := &Debrief{
		Version: 1, Car: c.Name, Title: c.Title, Seed: seed, Level: b.Level, Ended: b.ended, Story: c.Debrief,
		Answer: append([]string{}, c.Answer()...), Taps: Taps{Used: append([]string{}, b.taps...), Best: append([]string{}, best.taps...), Runs: b.Sim.Pulls()},
		Setup:   b.setup(),
		Program: best.said(), Guess: b.said(), Findings: []Finding{},
	}
	if d.Guess != nil && d.Guess.Piece != nil && judged != nil && slices.Contains(b.names(), *d.Guess.Piece) {
		d.Guess.Chance = new(chanceOf(judged, *d.Guess.Piece))
	}
	for _, f := range b.found {
		if !f.plain {
			d.Findings = append(d.Findings, f)
		}
	}
	for i := range c.Car.Path {
		d.Pieces = append(d.Pieces, b.piece(i, judged))
	}
	d.Points = []Points{b.pointsPiece(), b.pointsSure(), b.pointsNumbers(), b.pointsSetup(&d.Setup), b.pointsSafety(), b.pointsTaps(best)}
	for _, p := range d.Points {
		d.Score += p.Got
	}
	return d
}

func (b *Bench) said() *Said {
	if b.guess == nil || !b.guess.Known {
		return nil
	}
	s := &Said{Sure: b.guess.Sure, Right: b.Right()}
	if b.guess.Piece != "" {
		s.Piece = &b.guess.Piece
	}
	return s
}

func (b *Bench) piece(i int, judged *assessment.Assessment) Piece {
	t := &b.Sim.Case.Car.Truth
	p := Piece{Name: b.Sim.Case.Car.Path[i].Name, Fault: string(b.Sim.Case.Car.Path[i].Fault), Loss: t.Loss[i], Gain: 100 * t.Gain[i]}
	if judged == nil {
		return p
	}
	for _, c := range judged.Components {
		if b.truly(c.Name) == p.Name {
			p.Judged = &c.Loss
		}
	}
	return p
}

// setup gathers what became of the fault of the setup.
func (b *Bench) setup() Setup {
	s := Setup{Fault: string(b.Sim.Case.Setup.Fault), Loose: b.needless}
	for _, f := range b.found {
		switch {
		case f.Topic != aboutSetup || strings.HasSuffix(f.Text, soundText):
		case f.Good:
			s.Fixed, s.Met = true, true
		case !s.Fixed:
			s.Late, s.Met = true, true
		}
	}
	return s
}

// soundText ends what is said of a repair of something that was sound.
const soundText = "It was sound."

func (b *Bench) pointsPiece() Points {
	p := Points{Part: "the right piece", Of: forPiece}
	answer := strings.Join(b.Sim.Case.Answer(), " or ")
	switch {
	case b.guess == nil || !b.guess.Known:
		p.Why = "you named none"
	case b.Right() && answer == "":
		p.Got, p.Why = forPiece, "nothing on this car is worth a change, and you said so"
	case b.Right():
		p.Got, p.Why = forPiece, b.guess.Piece+" is the one"
	case answer == "":
		p.Why = "nothing on this car is worth a change; you would have changed " + b.guess.Piece
	case b.guess.Piece == "":
		p.Why = "you would have left the car alone; " + answer + " was worth a change"
	case b.faulty(b.guess.Piece):
		p.Got, p.Why = forPiece/2, b.guess.Piece+" is faulty too, but "+answer+" gives back more"
	default:
		p.Why = "it is " + answer + "; you would have changed " + b.guess.Piece
	}
	return p
}

func (b *Bench) faulty(mine string) bool {
	i, ok := b.at[mine]
	return ok && i >= 0 && b.Sim.Case.Car.Path[i].Fault != practice.Sound
}

// pointsSure is Brier's rule: the square of how far off the stated chance was.
func (b *Bench) pointsSure() Points {
	p := Points{Part: "how sure you were", Of: forSure}
	if b.guess == nil || !b.guess.Known {
		p.Why = "you didn't say"
		return p
	}
	came := 0.0
	if b.Right() {
		came = 1
	}
	miss := b.guess.Sure - came
	p.Got = int(math.Round(forSure * (1 - miss*miss)))
	p.Why = fmt.Sprintf("%.0f %% sure of what was right", 100*b.guess.Sure)
	if came == 0 {
		p.Why = fmt.Sprintf("%.0f %% sure of what was wrong", 100*b.guess.Sure)
	}
	return p
}

func (b *Bench) pointsNumbers() Points {
	p := Points{Part: "numbers as they were shown", Of: forNumbers}
	if b.typed == 0 {
		p.Why = "none was typed"
		return p
	}
	p.Got = forNumbers * b.good / b.typed
	p.Why = fmt.Sprintf("%d of %d", b.good, b.typed)
	return p
}

func (b *Bench) pointsSetup(s *Setup) Points {
	p := Points{Part: "gauge, hose and driver", Of: forSetup}
	switch {
	case b.Sim.Pulls() == 0:
		p.Why = "there was no run"
		return p
	case s.Fault == "":
		p.Got, p.Why = forSetup, "nothing was wrong with them"
	case s.Fixed && !s.Late:
		p.Got, p.Why = forSetup, "seen in time and put right: "+s.Fault
	case s.Fixed:
		p.Got, p.Why = forSetup*2/3, "put right, but late: "+s.Fault
	case s.Met || b.Sim.Fault() != practice.NoSetupFault && s.Late:
		p.Why = "passed over: " + s.Fault
	case b.honest(s.Fault):
		p.Got, p.Why = forSetup*4/5, "not put right, but written down as it was: "+s.Fault
	default:
		p.Got, p.Why = 0, "passed over: "+s.Fault
	}
	if b.needless > 0 {
		p.Got = max(0, p.Got-offNeedless*b.needless)
		p.Why += fmt.Sprintf("; sound things mended: %d", b.needless)
	}
	return p
}

// honest tells whether a fault that was left as it is did no harm, because it was
// written down: a zero that is off, runs that are marked as doubtful.
func (b *Bench) honest(fault string) bool {
	switch practice.SetupFault(fault) {
	case practice.ZeroOff, practice.PartLoad, practice.WrongGear:
		return !slices.ContainsFunc(b.found, func(f Finding) bool {
			return f.Topic == aboutSetup && !f.Good && !strings.HasSuffix(f.Text, soundText) ||
				f.Topic == aboutNumber && !f.Good && practice.SetupFault(fault) == practice.ZeroOff
		})
	}
	return false
}

func (b *Bench) pointsSafety() Points {
	p := Points{Part: "holds and what was left out", Of: forSafety, Got: forSafety}
	if b.holds == 0 {
		p.Got, p.Why = 0, "no hold was come to"
		return p
	}
	hasty, skipped := 0, 0
	for _, f := range b.found {
		switch {
		case f.Topic == aboutHold && !f.Good:
			hasty++
		case f.Topic == aboutSkip:
			skipped++
		}
	}
	p.Got = max(0, forSafety-offHold*hasty-offSkip*skipped)
	switch {
	case hasty+skipped == 0:
		p.Why = "every hold was looked at before it was passed"
	default:
		p.Why = fmt.Sprintf("passed in haste: %d; left out: %d", hasty, skipped)
	}
	return p
}

func (b *Bench) pointsTaps(best *Bench) Points {
	p := Points{Part: "taps", Of: forTaps}
	extra := len(b.taps) - len(best.taps)
	switch {
	case len(b.taps) == 0:
		p.Why = "none was made"
	case !b.Right():
		p.Why = "few taps are no gain where the answer is wrong"
	case extra <= 0:
		p.Got, p.Why = forTaps, fmt.Sprintf("%d, and the program's advice takes %d", len(b.taps), len(best.taps))
	default:
		p.Got, p.Why = max(0, forTaps-offTap*extra), fmt.Sprintf("%d, where the program's advice takes %d", len(b.taps), len(best.taps))
	}
	return p
}
