// Package inspect computes what is to be known about a finished neck from its readings, judges it against a specification
// and advises what to do. Everything in it is a pure function: no files, no ports, no clock. Lengths are mm, angles
// degrees, frequencies Hz; x runs from the nut's front edge to the saddle, y across the board towards the treble side, z
// from the board to the strings. Fret n is entry n-1 of every list. An offset or a tilt common to all heights changes
// nothing.
//
// Every characteristic stands in the catalogue (catalogue.go) with all that is true of it, and is computed in the file of its
// name. What they share:
//
//	Fret positions L (1 - 2^(-n/12))               FretX
//	Where frets, strings and tracks cross          Fan, Line (fan.go)
//	Cross-sections of slanted frets                section.go
//	A track's place across the board               TrackY
//	Sagitta of an arc                              Sagitta
//	Developed height                               Developed, NominalRadius
//	Minimum zones                                  zone.Straightness, zone.Flatness, zone.Level
//	Bend curve, circle                             fit.BendCurve, fit.CircleRadius
//	Two-foot beam to relief                        Evaluate (relief.go)
//	Feeler leaves, an interval                     LeafZone
//	Cents                                          IntonationCents, Cents
//	String line, saddle move                       Evaluate (stringline.go, advice.go)
//	Plucked envelope                               PluckAmplitude, PluckEnvelope
//	Tension                                        Tension, PlainSteelMass
//	Truss rod: learning, advice                    UpdateRod, LearnRod, AdviseRod
//	Uncertainty of one reading                     Spec.ReadingU
//	Uncertainty of a characteristic                Evaluate (uncertainty.go), fit.Propagate, Budget
//	Decision rule                                  Judge
//	Conformance probability                        ConformProbability
//	Disposition                                    Evaluate (disposition.go)
//	Steps of rework, their order                   Steps (steps.go)
//	Advice of each step                            Evaluate (advice.go, advicelevel.go)
//	What a step does to the readings               Evaluate (reshape.go, plan.go)
//	Formula, inputs and intermediate values        KindOf, Workings
//	Limits that a routine cannot measure           Spec.Unmeasurable
//	Points that determine a characteristic         Involved
//	Causes and remedies                            RemedyFor, Remedies, AllRemedies
//	Cautions                                       Advice.Cautions
package inspect
