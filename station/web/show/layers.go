package show

// Layer is a part of what is known of a batch, at an address of its own behind the batch's.
type Layer struct {
	Key    string // last part of its address, "" for the answer itself
	Anchor string // the name of its section
	Title  string
	Words  string // what is found there
}

// batchLayers are in the order of every navigation.
var batchLayers = []Layer{
	{"", "", "The answer", ""},
	{"necks", "necks", "Necks", "each with its relief, its disposition and what failed first; more are registered there"},
	{"reasons", "failing", "Reasons", "what failed at the first inspections, and how close the others were"},
	{"characteristics", "capability", "Characteristics", "every limited characteristic with its mean, spread and capability"},
	{"charts", "chart", "Charts", "one characteristic neck by neck: is it steady, and how it lies between its limits"},
	{"limits", "what-if", "What if", "how the batch would have gone with other limits"},
	{"people", "where", "Who, where, when", "first-pass yield by inspector, station, gauge, hour, weekday and humidity"},
	{"rework", "rework", "Rework", "how often necks came back, and what turning the rod did"},
	{"audit", "audit", "Outgoing audit", "a sample of the necks that may ship, looked at once more before they do"},
}

// InDoubt comes after the other layers of a batch where there is a doubt.
var InDoubt = Layer{"doubt", "doubt", "In doubt", "necks that rest on what may be wrong, and why"}

// BatchLayers are the layers of a batch: doubted says that necks of it are or were in doubt.
func BatchLayers(doubted bool) []Layer {
	all := append([]Layer{}, batchLayers...)
	if doubted {
		all = append(all, InDoubt)
	}
	return all
}
