// Package inspect computes what is to be known about a finished neck from its readings, judges it against a specification
// and advises what to do. Everything in it is a pure function: no files, no ports, no clock. Lengths are mm, angles
// degrees, frequencies Hz; x runs from the nut's front edge to the saddle, y across the board towards the treble side, z
// from the board to the strings. Fret n is entry n-1 of every list. An offset or a tilt common to all heights changes
// nothing.
//
// Where each quantity is computed:
//
//	Fret positions L (1 - 2^(-n/12))              FretX
//	A track's place across the board               TrackY
//	Relief, positive for a forward bow             Evaluate (relief.go)
//	Two-foot beam to relief                        Evaluate (relief.go)
//	Feeler leaves, an interval                     LeafZone
//	Sagitta of an arc                              Sagitta
//	Straightness, minimum zone and least squares   zone.Straightness
//	Developed height                               Developed, NominalRadius
//	Flatness, minimum zone and least squares       zone.Flatness
//	Level zone                                     zone.Level
//	Bend curve                                     fit.BendCurve
//	Level deviation, rocker                        Evaluate (level.go)
//	Hump, fall-away                                Evaluate (extension.go)
//	Twist, radius at a fret                        Evaluate (twist.go), fit.CircleRadius
//	Intonation, pitch                              IntonationCents, Cents
//	String line, saddle move                       Evaluate (action.go, advice.go)
//	Clearance map and margins                      Evaluate (clearance.go)
//	Plucked envelope                               PluckAmplitude, PluckEnvelope
//	Tension                                        Tension, PlainSteelMass
//	Truss rod: learning, advice                    UpdateRod, LearnRod, AdviseRod
//	What relief does to action                     Evaluate (reshape.go)
//	Uncertainty of one reading                     Spec.ReadingU
//	Uncertainty of a characteristic                Evaluate (uncertainty.go), fit.Propagate, Budget
//	Decision rule                                  Judge
//	Conformance probability                        ConformProbability
//	Disposition                                    Evaluate (disposition.go)
//	Order of rework, advice                        Evaluate (advice.go, advicelevel.go)
//	What a step does to the readings               Evaluate (reshape.go, plan.go)
//	Formula, inputs and intermediate values        Explain, Workings
//	Limits that a routine cannot measure           Spec.Unmeasurable
//	Points that determine a characteristic         Involved
//	Causes and remedies                            RemedyFor, Remedies, AllRemedies
//	Cautions                                       Advice.Cautions
package inspect
