package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"
)

// tally counts what became of the changes of a package.
type tally struct {
	sampled, caught, unbuilt, late, same int
	survived                             []change
}

func (n tally) String() string {
	of := n.sampled - n.same
	out := fmt.Sprintf("sampled %d, caught %d of %d (%.0f %%), the same %d, survived %d", n.sampled, n.caught, of,
		100*float64(n.caught)/float64(max(of, 1)), n.same, len(n.survived))
	return out + fmt.Sprintf("; of those caught, %d did not build and %d ran out of time", n.unbuilt, n.late)
}

// survey tries a sample of each package and prints what became of it.
func survey(ctx context.Context, chosen []unit, o options, out io.Writer) (err error) {
	if scratch, err = workplace(); err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	equals, err := readSame("deploy/mutate.txt")
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Seed %d, up to %d changes in each package.\n", o.seed, o.sample)
	var total tally
	for _, u := range chosen {
		n, err := surveyed(ctx, u, o, equals, out)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s: %s\n", u.dir, n)
		total = total.plus(n)
	}
	if len(chosen) > 1 {
		fmt.Fprintf(out, "Total: %s\n", total)
	}
	return nil
}

func (n tally) plus(m tally) tally {
	return tally{n.sampled + m.sampled, n.caught + m.caught, n.unbuilt + m.unbuilt, n.late + m.late, n.same + m.same,
		append(n.survived, m.survived...)}
}

// surveyed tries the sample of one package.
func surveyed(ctx context.Context, u unit, o options, equals []equal, out io.Writer) (tally, error) {
	k, err := learn(ctx, u)
	if err != nil {
		return tally{}, err
	}
	all, err := listing(u, k.Report)
	if err != nil {
		return tally{}, err
	}
	p := plan{u: u, known: k, own: o.own}
	fmt.Fprintf(out, "%s: %d possible changes; its tests take %.1f s\n", u.dir, len(all), k.Clean.Seconds())
	var n tally
	for _, c := range pick(all, o.seed, o.sample) {
		if !c.at(o.at) {
			continue
		}
		got, err := p.put(ctx, c)
		if err != nil {
			return tally{}, err
		}
		n.count(c, got, equals, o.loud, out)
	}
	return n, nil
}

// count adds one change to the tally and prints it where it is of interest.
func (n *tally) count(c change, got outcome, equals []equal, loud bool, out io.Writer) {
	n.sampled++
	why, same := whySame(equals, c)
	switch {
	case got.caught && same:
		fmt.Fprintf(out, "  caught by %s, so deploy/mutate.txt is wrong about it: %s\n", got.by, c)
	case got.caught && loud:
		fmt.Fprintf(out, "  caught by %s: %s\n", got.by, c)
	case got.caught:
	case same:
		n.same++
		fmt.Fprintf(out, "  the same: %s (%s)\n", c, why)
		return
	default:
		n.survived = append(n.survived, c)
		reached := ""
		if !c.covered {
			reached = ", and no test of the package runs it"
		}
		fmt.Fprintf(out, "  survived%s: %s\n", reached, c)
		return
	}
	n.caught++
	if !got.built {
		n.unbuilt++
	}
	if got.by == late {
		n.late++
	}
}

// plan is how the tests of a package are asked.
type plan struct {
	u unit
	known
	own  bool    // the package's own tests alone
	also []tests // of other packages, timed when they are first asked
}

// timed runs a package's tests on the unchanged code.
func timed(ctx context.Context, dir string) (time.Duration, error) {
	if said, err := runGo(ctx, []string{"test", "-vet=off", "-run", "^$", "./" + dir}); err != nil {
		return 0, fmt.Errorf("build the tests of %s: %w\n%s", dir, err, said)
	}
	began := time.Now()
	said, err := runGo(ctx, []string{"test", "-vet=off", "-count=1", "./" + dir})
	if err != nil {
		return 0, fmt.Errorf("the tests of %s fail on the unchanged code: %w\n%s", dir, err, said)
	}
	return time.Since(began), nil
}

// put makes a change and asks the tests, the likeliest first.
func (p *plan) put(ctx context.Context, c change) (outcome, error) {
	text, err := os.ReadFile(c.file)
	if err != nil {
		return outcome{}, fmt.Errorf("read what is to be changed: %w", err)
	}
	changed, err := c.made(string(text))
	if err != nil {
		return outcome{}, err
	}
	got, err := tryAll(ctx, c.file, changed, p.ordered(c, p.u.dir))
	if err != nil || got.caught || p.own {
		return got, err
	}
	if len(p.also) < len(p.u.also) {
		for _, dir := range p.u.also {
			took, err := timed(ctx, dir)
			if err != nil {
				return outcome{}, err
			}
			p.also = append(p.also, tests{dir: dir, clean: took})
		}
	}
	return tryAll(ctx, c.file, changed, p.also)
}

// tryAll asks some tests after others until one notices.
func tryAll(ctx context.Context, file, text string, all []tests) (outcome, error) {
	for _, some := range all {
		got, err := try(ctx, file, text, some)
		if err != nil || got.caught {
			return got, err
		}
	}
	return outcome{built: true}, nil
}
