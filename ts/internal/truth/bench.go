package truth

import "math/rand/v2"

// Kind is what lies between one sweep and another of the same driver.
type Kind int

const (
	Again     Kind = iota // nothing was touched
	Reclamped             // taken off and put back
	Session               // another day
	Operator              // another pair of hands
)

// Scatter is how much one kind of repeat changes a driver; all are standard deviations.
type Scatter struct {
	Stiffness float64 // ln of the stiffness, by handling, rest, humidity
	Loss      float64 // ln of the losses, besides what goes with the stiffness
	Room      float64 // K
	Coil      float64 // K, of the coil above the room
}

// Bench is how a bench scatters.
type Bench struct {
	Scatter [4]Scatter // by Kind
	// LossWithStiffness is d ln(loss angle)/d ln(stiffness): a softer suspension is also a little less lossy,
	// as humidity and temperature drive both (common practice, the number is an assumption).
	LossWithStiffness float64
	// StiffnessPerKelvin is d ln(stiffness)/dT: a suspension is 5 % stiffer when 10 K colder (common practice).
	StiffnessPerKelvin float64
}

// CommonBench is a bench on which the Fs of one untouched driver scatters from session to session with a
// relative standard deviation of fs: 0.15 of it again, 0.45 by clamping, 0.88 by the session, and another
// operator adds half of it. Losses scatter as the stiffness does, so that Qms scatters 2 to 3 times as far as
// Fs. At 1 % the room scatters by 1.5 K and a coil is 0.5 K warmer or colder than that; other benches are in
// proportion. A careful bench repeats Fs to 0.5 %, 1 % is usual, 2 % happens with soft surrounds and
// handling: common practice.
func CommonBench(fs float64) Bench {
	b := Bench{LossWithStiffness: 0.5, StiffnessPerKelvin: -0.005}
	shares := [4]float64{Again: 0.15, Reclamped: 0.45, Session: 0.88, Operator: 0.5}
	for k, share := range shares {
		b.Scatter[k] = Scatter{Stiffness: 2 * share * fs, Loss: 2 * share * fs, Coil: 50 * share * fs}
	}
	s := &b.Scatter[Session]
	s.Room = 150 * fs
	// What the temperature does is part of the scatter.
	s.Stiffness = sqrt(s.Stiffness*s.Stiffness - b.StiffnessPerKelvin*b.StiffnessPerKelvin*s.Room*s.Room)
	return b
}

// Take draws a state that differs from a base by one kind of repeat, and by nothing else: a sweep in a new
// clamping of a new session is
//
//	session := b.Take(rng, Session, State{})
//	clamped := b.Take(rng, Reclamped, session)
//	sweep := b.Take(rng, Again, clamped)
//
// Sweeps that share a session start from the same session.
func (b Bench) Take(rng *rand.Rand, kind Kind, base State) State {
	s := b.Scatter[kind]
	room := s.Room * rng.NormFloat64()
	stiffness := s.Stiffness*rng.NormFloat64() + b.StiffnessPerKelvin*room
	return State{
		Stiffness: base.Stiffness + stiffness,
		Loss:      base.Loss + b.LossWithStiffness*stiffness + s.Loss*rng.NormFloat64(),
		Room:      base.Room + room,
		Coil:      base.Coil + s.Coil*rng.NormFloat64(),
	}
}

// Fresh is a sweep in a clamping and a session of its own.
func (b Bench) Fresh(rng *rand.Rand) State {
	return b.Take(rng, Again, b.Take(rng, Reclamped, b.Take(rng, Session, State{})))
}
