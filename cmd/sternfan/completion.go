package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Help says how to put the script to use.
func (*completionCmd) Help() string {
	return "bash: source <(sternfan completion bash)    zsh: source <(sternfan completion zsh)    fish: sternfan completion fish | source"
}

func (c *completionCmd) Run(w *world, parser *kong.Kong) error {
	scripts := map[string]func([]commandWords) string{"bash": bashScript, "zsh": zshScript, "fish": fishScript}
	_, err := fmt.Fprint(w.stdout, scripts[c.Shell](words(parser.Model)))
	return err
}

// commandWords is what a shell needs to know of one command.
type commandWords struct {
	name, help string
	flags      []flagWords
	args       []string // the values its first argument may have
	files      bool     // its argument is a file
}

type flagWords struct {
	names  []string // "--format", "-o"
	help   string
	values []string // when only these are allowed
	takes  bool     // a value follows
	files  bool     // the value is a file
}

// words reads the commands off the parser's own model, so that the scripts cannot know
// less than the program.
func words(model *kong.Application) []commandWords {
	var out []commandWords
	for _, node := range model.Children {
		if node.Hidden {
			continue
		}
		c := commandWords{name: node.Name, help: node.Help}
		for _, p := range node.Positional {
			if p.Enum == "" {
				c.files = true
			} else {
				c.args = p.EnumSlice()
			}
		}
		for _, child := range node.Children {
			c.args = append(c.args, child.Name)
			c.files = true // some of them take one
		}
		for _, group := range node.AllFlags(true) {
			for _, f := range group {
				c.flags = append(c.flags, wordsOf(f))
			}
		}
		out = append(out, c)
	}
	return out
}

func wordsOf(f *kong.Flag) flagWords {
	out := flagWords{names: []string{"--" + f.Name}, help: f.Help, takes: !f.IsBool(), files: f.Name == "out" || f.Name == "profile"}
	if f.Short != 0 {
		out.names = append(out.names, "-"+string(f.Short))
	}
	if f.Enum != "" {
		out.values = slices.DeleteFunc(f.EnumSlice(), func(s string) bool { return s == "" })
	}
	return out
}

// quote makes one word of a text for bash and zsh.
func quote(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" }

func bashScript(commands []commandWords) string {
	var b strings.Builder
	var names []string
	for _, c := range commands {
		names = append(names, c.name)
	}
	b.WriteString(`# Completion of sternfan for bash.
_sternfan() {
	local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}
	local words= files=
	if [ "$COMP_CWORD" -eq 1 ]; then
		words=` + quote(strings.Join(names, " ")+" --help") + `
	else
		case "${COMP_WORDS[1]} $before" in
`)
	for _, c := range commands {
		for _, f := range c.flags {
			if !f.takes {
				continue
			}
			var patterns []string
			for _, n := range f.names {
				patterns = append(patterns, quote(c.name+" "+n))
			}
			fmt.Fprintf(&b, "\t\t%s) words=%s files=%s ;;\n", strings.Join(patterns, "|"), quote(strings.Join(f.values, " ")), yes(f.files))
		}
	}
	for _, c := range commands {
		all := slices.Clone(c.args)
		for _, f := range c.flags {
			all = append(all, f.names[0])
		}
		fmt.Fprintf(&b, "\t\t%s*) words=%s files=%s ;;\n", quote(c.name+" "), quote(strings.Join(all, " ")), yes(c.files))
	}
	b.WriteString(`		esac
	fi
	COMPREPLY=($(compgen -W "$words" -- "$current"))
	case "$files$current" in
	yes-*) ;;
	yes*)
		compopt -o filenames 2>/dev/null
		COMPREPLY+=($(compgen -f -- "$current"))
		;;
	esac
}
complete -F _sternfan sternfan
`)
	return b.String()
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func zshScript(commands []commandWords) string {
	plain := strings.NewReplacer("[", `\[`, "]", `\]`, ":", `\:`)
	var b strings.Builder
	b.WriteString("#compdef sternfan\n# Completion of sternfan for zsh.\n_sternfan() {\n\tif (( CURRENT == 2 )); then\n\t\tlocal -a names\n\t\tnames=(\n")
	for _, c := range commands {
		fmt.Fprintf(&b, "\t\t\t%s\n", quote(c.name+":"+plain.Replace(c.help)))
	}
	b.WriteString("\t\t)\n\t\t_describe command names\n\t\treturn\n\tfi\n\tlocal command=$words[2]\n\tshift words\n\t(( CURRENT-- ))\n\tcase $command in\n")
	for _, c := range commands {
		fmt.Fprintf(&b, "\t%s)\n\t\t_arguments", c.name)
		for _, f := range c.flags {
			for _, n := range f.names {
				spec := "*" + n
				if f.takes && strings.HasPrefix(n, "--") {
					spec += "=" // the value may follow a space or an equals sign
				}
				spec += "[" + plain.Replace(f.help) + "]"
				switch {
				case f.files:
					spec += ":file:_files"
				case len(f.values) > 0:
					spec += ":value:(" + strings.Join(f.values, " ") + ")"
				case f.takes:
					spec += ":value: "
				}
				fmt.Fprintf(&b, " \\\n\t\t\t%s", quote(spec))
			}
		}
		if len(c.args) > 0 {
			fmt.Fprintf(&b, " \\\n\t\t\t%s", quote("1:value:("+strings.Join(c.args, " ")+")"))
		}
		if c.files {
			fmt.Fprintf(&b, " \\\n\t\t\t%s", quote("1:file:_files"))
		}
		b.WriteString("\n\t\t;;\n")
	}
	b.WriteString("\tesac\n}\nif [ \"$funcstack[1]\" = _sternfan ]; then\n\t_sternfan \"$@\"\nelse\n\tcompdef _sternfan sternfan\nfi\n")
	return b.String()
}

func fishScript(commands []commandWords) string {
	quote := func(s string) string { return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'" }
	var b strings.Builder
	b.WriteString("# Completion of sternfan for fish.\ncomplete -c sternfan -f\n")
	for _, c := range commands {
		fmt.Fprintf(&b, "complete -c sternfan -n __fish_use_subcommand -a %s -d %s\n", c.name, quote(c.help))
	}
	for _, c := range commands {
		seen := quote("__fish_seen_subcommand_from " + c.name)
		for _, f := range c.flags {
			fmt.Fprintf(&b, "complete -c sternfan -n %s -l %s", seen, strings.TrimPrefix(f.names[0], "--"))
			if len(f.names) > 1 {
				fmt.Fprintf(&b, " -s %s", strings.TrimPrefix(f.names[1], "-"))
			}
			switch {
			case f.files:
				b.WriteString(" -r -F")
			case len(f.values) > 0:
				fmt.Fprintf(&b, " -x -a %s", quote(strings.Join(f.values, " ")))
			case f.takes:
				b.WriteString(" -x")
			}
			fmt.Fprintf(&b, " -d %s\n", quote(f.help))
		}
		if len(c.args) > 0 {
			fmt.Fprintf(&b, "complete -c sternfan -n %s -a %s\n", seen, quote(strings.Join(c.args, " ")))
		}
		if c.files {
			fmt.Fprintf(&b, "complete -c sternfan -n %s -F\n", seen)
		}
	}
	return b.String()
}
