// Package config reads the one file that says what nightclamp watches and how.
//
// The file is TOML and strict: an unknown key, a value without its unit and a
// floor that the room cannot give are errors, each with its line and what to
// write instead, all of them at once. [Load] with an empty path looks in the
// usual places ([Find]) and takes [Default] when there is no file: a working
// daemon that has no sensor yet, which [Config.CheckSensors] says in words.
//
// The sample file with every key and its meaning is deploy/nightclamp.toml; its
// text is deploy.SampleConfig, and a test holds it to the structs here.
//
// The keys of a sensor belong to its driver. They are kept as they were written
// and handed to the table of drivers; an error of a driver about one of its
// keys comes back with the file and line of that key.
package config
