package cycle

// Machine is one calibrated machine. It is not changed by a solve, so one
// Machine may serve many goroutines.
type Machine struct{}
