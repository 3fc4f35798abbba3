package config

// fault is an error with a hint at what to do about it.
type fault struct {
	cause error
	hint  string
}

func (f *fault) Error() string { return f.cause.Error() }
func (f *fault) Unwrap() error { return f.cause }
func (f *fault) Hint() string  { return f.hint }
