"""The starter drill that `playalong new` writes: commented, and working as it is."""

STARTER = """\
# A drill for playalong. Lines that begin with # are notes to you; take the # away to use one.

title      = "First to third position, and back"
instrument = "viola"          # violin, viola; cello, bass, voices and winds in written pitches
strings    = ["D"]            # the drill once on each of these
keys       = ["F major"]      # any key; a new one every day makes the same bar new

# The bar. p1: and p3: say where the hand is; 0 to 4 are fingers; the key decides
# where the half and whole steps fall. ( ) is one bow, r a rest, ~ a slide to be heard,
# - a shift without a sound, *2 twice as long. Eight eighths fill a bar of 4/4.
bar        = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"

climb      = 3                # the same fingers again from 2nd and 3rd position
# meter    = "4/4"
# note     = "eighth"         # length of a plain token
# rhythm   = ["3/2", "1/2"]   # lengths handed out in turn
# bow      = "half bar"       # note, beat, half bar or bar
# passes   = 2                # how often the bar is played at each place
# gap      = 1                # bars of click between passes
# stages   = ["listen", "answer", "check", "alone"]

[tempo]
start = 60                    # beats a minute
goal  = 60                    # raise it, and the tempo climbs mark by mark
# step = "marks"              # metronome marks; or "+4", or "+5%"

# [tuning]
# a4          = 440
# temperament = "equal"       # equal, pythagorean, just

# [drone]
# on     = "tonic"            # tonic, tonic and fifth, off, "open D", or a pitch
# octave = 0

# [click]
# every    = "beat"           # half beat, beat, half bar, bar, off
# count_in = 2                # bars

# [slide]
# lead  = "old finger"        # or "new finger"; or {up = "old finger", down = "new finger"}
# share = 0.4                 # of the departing note

# [session]
# play = 5                    # minutes at a stretch, at most
# rest = 1                    # minutes with the instrument down
# home = false                # true: come back to the start tempo at the end

# A stage of your own; name it in stages = [...] above.
# [stage.echo]
# guide  = ["soft", "silent"] # pass by pass: full, soft, landings, silent
# slides = "lighter"          # full, lighter, none
# ghosts = "light"            # sounded, light, silent
# drone  = true
# click  = true
"""
