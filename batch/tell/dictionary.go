package tell

// Rod says what kind of truss rod a neck has: "single-acting", "double-acting", "none".
func Rod(rod string) string {
	switch rod {
	case "single", "double":
		return rod + "-acting"
	}
	return rod
}
