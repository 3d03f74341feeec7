package inspect

// The characteristics' names.
const (
	Relief          = "relief"
	ReliefMax       = "relief_max"
	SideDifference  = "relief_side_difference"
	Straightness    = "straightness"
	Flatness        = "flatness"
	LevelZone       = "level_zone"
	LevelDeviation  = "level_deviation"
	Rocker          = "rocker"
	Hump            = "hump"
	FallAway        = "fall_away"
	Twist           = "twist"
	BoardRadius     = "board_radius"
	Action          = "action"
	NutHeight       = "nut_height"
	LeastClearance  = "clearance"
	ClearanceMargin = "clearance_margin"
	Pitch           = "pitch"
	Intonation      = "intonation"
	FretPosition    = "fret_position"
)

const definition = "definition"

// What the characteristics of the crowns, of relief and of a string's gaps are computed from.
var (
	crowns       = []string{PointCrown}
	reliefPoints = []string{PointCrown, PointBeam, PointLeafPasses, PointLeafStops}
	gapPoints    = []string{PointAction, PointNutHeight, PointCrown}
)

// catalogue returns the entry of every characteristic, in the order in which a result and a sheet list them.
func catalogue() []Kind {
	return []Kind{
		{
			Name: Relief, ForPlayer: true, Words: "relief", Unit: "mm", Around: 0.08, Sign: "positive is a forward bow", Signed: true,
			TooMuch: "too much relief{side}", TooLittle: "too little relief{side}", Negative: "back-bow{side}",
			Formula: "height of the chord between the datum frets above the crown of the relief fret: z_a + (z_b - z_a)(x_k - x_a)/(x_b - x_a) - z_k; positive is a forward bow",
			Source:  definition,
			Track:   true, Datum: true, ReliefFret: true, Limited: true, Gated: true, Column: true,
			Points: reliefPoints, Own: PointBeam, Tracks: 1,
			Step: StepRod, Above: overBow, Below: backBow,
			compute: (*evaluation).reliefs, involved: (*points).relief, work: (*neck).workRelief,
		},
		{
			Name: ReliefMax, Words: "largest relief", Unit: "mm", Around: 0.08, LabelFret: 9, Sign: "positive is a forward bow", Signed: true,
			TooMuch: "too much relief{side}", TooLittle: "too little relief{side}", Negative: "back-bow{side}",
			Formula: "the largest relief between the datum frets", Source: definition,
			Track: true, Datum: true, Found: true, Limited: true, Gated: true, Column: true,
			Points: crowns, Tracks: 1,
			Step: StepRod, Above: overBow, Below: backBow,
			compute: (*evaluation).reliefMaxima, involved: (*points).datumCrowns, work: (*neck).workReliefMax, incomplete: (*neck).datumIncomplete,
		},
		{
			Name: SideDifference, Words: "relief side difference", Unit: "mm", Around: 0.08, Sign: "bass less treble: positive is more relief on the bass side", Signed: true,
			Plain: "bass side less treble side", TooMuch: "the bass side has too much more relief than the treble side", TooLittle: "the treble side has too much more relief than the bass side", OfZero: true,
			Formula: "relief on the bass side less relief on the treble side, both from profiles", Source: definition,
			Datum: true, Limited: true, Gated: true, Column: true,
			Points: crowns, Tracks: 2,
			Step: StepRod, Above: unevenSides, Below: unevenSides,
			compute: (*evaluation).sideDifferences, involved: (*points).outerReliefs, work: (*neck).workSideDifference,
		},
		{
			Name: Straightness, Words: "straightness", Unit: "mm", Around: 0.05, LabelFret: 10, Sign: "a zone's width: never below 0", Width: true,
			Plain: "run of the frets", TooMuch: "the frets do not run straight{side}",
			Formula: "width of the narrowest pair of parallel lines that holds every crown of the track (minimum zone); with it the parameters about the least-squares line",
			Source:  "ISO 12780-1: STRt, STRp, STRv, STRq",
			Track:   true, Limited: true, Column: true,
			Points: crowns, Tracks: 1,
			Step: StepLevel, Above: unlevel, Below: unlevel,
			compute: (*evaluation).straightnesses, involved: (*points).trackCrowns, work: (*neck).workStraightness, incomplete: (*neck).trackIncomplete,
		},
		{
			Name: Flatness, Words: "flatness", Unit: "mm", Around: 0.05, Sign: "a zone's width: never below 0", Width: true,
			Plain: "all frets together", TooMuch: "the frets are not level with one another",
			Formula: "width of the narrowest pair of parallel planes that holds every crown once the board's radius is taken out (minimum zone); with it the parameters about the least-squares plane",
			Source:  "ISO 12781-1: FLTt, FLTp, FLTv, FLTq",
			Limited: true, Column: true,
			Points: crowns, Tracks: 2,
			Step: StepLevel, Above: unlevel, Below: unlevel,
			compute: (*evaluation).flatnesses, involved: (*points).allCrowns, work: (*neck).workFlatness, incomplete: (*neck).boardIncomplete,
		},
		{
			Name: LevelZone, Words: "level zone", Unit: "mm", Around: 0.05, Sign: "a zone's width: never below 0", Width: true,
			Plain: "frets before the joint", TooMuch: "the frets before the joint are not level",
			Formula: "the minimum zone of the crowns of frets 1 to b about c0 + c1 x + c2 y + c3 u^2 + c4 u^3 + c5 u y, u = x/L: what bow and twist leave",
			Source:  definition + "; minimum zone as in ISO 12781-1",
			Limited: true, Column: true,
			Points: crowns, Tracks: 2,
			Step: StepLevel, Above: unlevel, Below: unlevel,
			compute: (*evaluation).levelZones, involved: (*points).boardCrowns, work: (*neck).workLevelZone, incomplete: (*neck).beforeJointIncomplete,
		},
		{
			Name: LevelDeviation, Words: "level deviation", Unit: "mm", Around: 0.02, LabelFret: 5, Sign: "positive is a crown above the bend curve", Signed: true,
			Plain:   "off the curve",
			Formula: "height of a crown above the bend curve, the cubic with the least sum of Huber losses over frets 1 to b, threshold 0.010 mm",
			Source:  definition + "; P. J. Huber, Annals of Mathematical Statistics 35 (1964)",
			Track:   true, Fret: true, Limited: true, Column: true,
			Points: crowns, Own: PointCrown, Tracks: 1,
			Step: StepLevel, Above: highFret, Below: lowFret, Stands: true,
			frets: levelFrets, compute: (*evaluation).levelDeviations, involved: (*points).neighbours, work: (*neck).workLevelDeviation,
		},
		{
			Name: Rocker, Words: "rocker", Unit: "mm", Around: 0.02, LabelFret: 4, Sign: "positive is a crown above its neighbours' line", Signed: true,
			Plain:   "stands",
			Formula: "height of a crown above the line through its two neighbours, less what the bend curve contributes before fret b", Source: definition,
			Track: true, Fret: true, Limited: true, Column: true,
			Points: crowns, Own: PointCrown, Tracks: 1,
			Step: StepLevel, Above: highFret, Below: lowFret, Stands: true,
			frets: rockerFrets, compute: (*evaluation).rockers, involved: (*points).neighbours, work: (*neck).workRocker,
		},
		{
			Name: Hump, Words: "hump", Unit: "mm", Around: 0.03, Sign: "0 where the board falls away: never below 0", Width: true,
			Plain: "rise past joint", TooMuch: "the board rises past the joint{side}",
			Formula: "greatest height of a crown beyond fret b above the bend curve's tangent at fret b produced, 0 when all lie below", Source: definition,
			Track: true, Limited: true,
			Points: crowns, Tracks: 1,
			Step: StepRepairer, Above: humped, Below: humped,
			compute: (*evaluation).humps, involved: (*points).extension, work: (*neck).workHump, incomplete: (*neck).extensionIncomplete, repair: (*neck).dressHump,
		},
		{
			Name: FallAway, Words: "fall-away", Unit: "mm", Around: 0.1, Sign: "positive is the last crown below the tangent, negative a rising tongue", Signed: true,
			Plain: "drop at the end", TooMuch: "the board drops too far at its end{side}", TooLittle: "the board drops too little at its end{side}",
			Formula: "depth of the last crown below the bend curve's tangent at fret b produced", Source: definition,
			Track: true, Limited: true,
			Points: crowns, Tracks: 1,
			Step: StepLevel, Above: fallingTongue, Below: risingTongue,
			compute: (*evaluation).fallAways, involved: (*points).lastCrown, work: (*neck).workFallAway,
		},
		{
			Name: Twist, Words: "twist", Unit: "deg", Around: 0.2, Sign: "right-handed about the direction from nut to saddle", Signed: true,
			TooMuch: "the neck is twisted", TooLittle: "the neck is twisted",
			Formula: "cross-slope at fret b less that at fret a between the outer tracks, developed heights: atan((z_T - z_B)/(y_T - y_B)); right-handed about the direction from nut to saddle. Crowns of slanted frets are carried along the bend curve, to where the centre line has the fret",
			Source:  definition,
			Limited: true, Column: true,
			Points: crowns, Tracks: 2, Across: true,
			Step: StepRepairer, Above: twisted, Below: twisted,
			compute: (*evaluation).twists, involved: (*points).twist, work: (*neck).workTwist, repair: (*neck).untwist,
		},
		{
			Name: BoardRadius, Words: "board radius", Unit: "mm", Around: 10, Sign: "a radius; negative only on a hollow board",
			TooMuch: "the board is too flat{fret}", TooLittle: "the board is too round{fret}", Negative: "the board is hollow{fret}",
			Formula: "radius of the circle with the least sum of squared distances to the crowns of one fret; those of a slanted one are carried along the bend curve, to where the centre line has it",
			Source:  "geometric least squares; N. Chernov and C. Lesort, Journal of Mathematical Imaging and Vision 23 (2005)",
			Fret:    true, Limited: true,
			Points: crowns, Tracks: 3, Across: true,
			Step: StepLevel, Above: wrongRadius, Below: wrongRadius,
			absent: (*Spec).flatBoard, compute: (*evaluation).boardRadii, involved: (*points).acrossFret, work: (*neck).workBoardRadius,
		},
		{
			Name: Action, ForPlayer: true, Words: "action", Unit: "mm", Around: 0.2, Sign: "a height above the crown",
			TooMuch: "{string} stands too high{fret}{held}", TooLittle: "{string} stands too low{fret}{held}",
			Formula: "height of the string's underside over the crown, as read", Source: definition,
			String: true, Fret: true, HeldFret: true, UsualFret: DefaultActionFret, Limited: true, Gated: true, Column: true,
			Points: []string{PointAction}, Own: PointAction,
			Step: StepAction, Above: highAction, Below: lowAction,
			compute: (*evaluation).actions, involved: (*points).action, work: workHeight,
		},
		{
			Name: NutHeight, ForPlayer: true, Words: "nut height", Unit: "mm", Around: 0.1, LabelFret: 1, Sign: "a height above the crown",
			Plain: "nut", TooMuch: "{string} stands too high at the nut", TooLittle: "{string} stands too low at the nut",
			Formula: "height of the open string's underside over fret 1, as read", Source: definition,
			String: true, Limited: true, Column: true,
			Points: []string{PointNutHeight}, Own: PointNutHeight,
			Step: StepNut, Above: highNut, Below: lowNut,
			compute: (*evaluation).nutHeights, involved: (*points).nutHeight, work: workHeight,
		},
		{
			Name: LeastClearance, Words: "least clearance", Unit: "mm", Around: 0.05, LabelFret: 15, Sign: "a height above the crown",
			Plain: "gap when pressed", TooLittle: "{string} comes too near the frets",
			Formula: "least height of the string above a crown, pressed at every fret in turn: the straight line from that crown to the saddle", Source: definition,
			String: true, Limited: true,
			Points: gapPoints, Tracks: 1,
			Step: StepAction, Above: buzz, Below: buzz,
			compute: (*evaluation).gaps, involved: (*points).clearance, work: (*neck).workClearance, incomplete: (*neck).stringIncomplete,
		},
		{
			Name: ClearanceMargin, Words: "clearance when plucked", Unit: "mm", Around: 0.05, LabelFret: 18, Sign: "below 0 buzz is predicted", Signed: true,
			Plain: "room when plucked", TooLittle: "{string} has too little room when plucked", Negative: "{string} is likely to buzz when plucked",
			Formula: "least clearance once the plucked string's envelope is taken off: a triangle of depth F (p/l)(1 - p/l) l/T that peaks at distance p from the held end; below 0 buzz is predicted",
			Source:  "d'Alembert's solution for the ideal string; tension by Mersenne's law",
			String:  true, Limited: true,
			Points: gapPoints, Tracks: 1, Pluck: true,
			Step: StepAction, Above: buzz, Below: buzz, // its rows come with those of the clearance
			involved: (*points).clearance, work: (*neck).workClearance, incomplete: (*neck).stringIncomplete,
		},
		{
			Name: Pitch, ForPlayer: true, Words: "pitch", Unit: "cents", LabelFret: 3, Sign: "positive is sharp", Signed: true,
			Plain: "tuning", TooMuch: "{string} is too sharp", TooLittle: "{string} is too flat",
			Formula: "1200 log2(f/f_target)", Source: "ISO 16:1975 for A4 = 440 Hz; the cent by definition",
			String: true, Limited: true,
			Points: []string{PointPitch}, Own: PointPitch,
			Step: StepPitch, Above: offPitch, Below: offPitch,
			compute: (*evaluation).pitches, involved: (*points).pitch, work: (*neck).workPitch,
		},
		{
			Name: Intonation, ForPlayer: true, Words: "intonation", Unit: "cents", Sign: "positive is sharp", Signed: true,
			Formula: "1200 log2(f_fretted / (f_open 2^(n/12)))", Source: definition,
			String: true, Fret: true, Besides: "open and fretted pitches (intonation)",
			compute: (*evaluation).intonations, work: (*neck).workIntonation,
		},
		{
			Name: FretPosition, Words: "fret position", Unit: "mm", Sign: "positive is too far from the nut", Signed: true,
			Formula: "measured distance from the nut less L (1 - 2^(-n/12))", Source: "twelve-tone equal temperament",
			Fret: true, Besides: "the frets' places (fret_x_mm)",
			compute: (*evaluation).fretPositions, work: (*neck).workFretPosition,
		},
	}
}
