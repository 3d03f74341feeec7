package show

// Pick chooses between two words.
func Pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}
