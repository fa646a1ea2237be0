# What the kinds of step say: advice, corrections, results.

do-not-fit = Those readings do not fit together.
misfit = { do-not-fit } We read them again.
keeps-misfitting = They still do not fit. Check what they are read from.
measured-again = Measured again after the move.

# $times: how many readings, averaged, would settle it
too-close-for =
    Too close to call. { $times ->
        [1] Read it once more.
       *[other] Read it { $times } times more.
    }
too-close-for-any = Too close to call, and reading more would not settle it.
too-close-sets =
    Too close to call. { $more ->
        [1] One more set
       *[other] { CAPITAL(COUNT($more)) } more sets
    } should settle it.
too-close-for-sets = Too close to call, and more sets would hardly settle it.

cannot-pass = { $title }: nothing could pass. The uncertainty is { $doubt }, and { $allowed } is allowed. Tell your supervisor.
wrong-way = That went the wrong way.
wrong-way-at = { $title }: that went the wrong way.
suspected = { SENTENCE($what) } Likely misread: { LIST($names, last: "or") }.

# The stand.
stand-moves = { CAPITAL(COUNT($count)) } moves, one after the other.
# $count: how many moves; $disturbed: how many places in the list
stand-moves-disturb =
    { $count ->
        [1] The next move disturbs
       *[other] They disturb
    } { LIST($places) } too: { $disturbed ->
        [1] it is measured again.
       *[other] they are measured again.
    }
place-turn = the turn
place-sideways = the sideways position
place-distance = the distance
place-height = the height

shim = { CAPITAL($thickness) } under { $spot }.

# The aim and its screws.
once-more-to-be-sure = Inside. Once more, to be sure.
scatter-widened = The readings scatter more than was entered. Their uncertainty is widened.
lock-screws = Lock the screws without turning them. Covers on.
# To who heard that in this job.
lock-screws-again = Lock the screws. Covers on.
sets-disagree = The two sets do not agree. We measure them again.
levels-do-not-fit = The levels do not fit one beam
levels-misfit = The levels do not fit one beam. We read them again.
levels-keep-misfitting = The levels still do not fit one beam. Look for anything else that reflects, then check the plate and its detents.
unsettled = The readings do not settle. Check the plate, its detents and the scan tool.
not-inside-yet = Not inside.
set-interrupted = The set was interrupted. Its levels are read anew.
aim-to-correct = Not inside yet: { $yaw }, { $elevation }.
cannot-reach = The screws cannot bring it inside. At best: { $yaw }, { $elevation }. Check the bracket.
# The screw just turned, a little back the other way.
turn-screw-back = { CAPITAL($screw) } again, back { $turns }, { DIRECTION($sense) }.
turn-screw = { CAPITAL($screw) }, { DIRECTION($sense) }, { $turns }.
# To somebody who may have turned a part of it already.
turn-screw-from-before = { CAPITAL($screw) }, { DIRECTION($sense) }, { $turns } from where it was before.
the-screw = the { $screw }
unexplained-move = Stop. The aim moved in a way that the screws do not explain.
learned-anew = Twice running against what I had learned of the screws. I go by the mount file again.
mount-doubted = Twice against the prediction. Is the mount file mirrored?
looks-as-if = Stop. It looks as if { $what }.
looks-like-either = Stop. It looks as if either { $first }, or { $second }.
# $count: how many screws
slip-wrong-way =
    { LIST($screws) } { $count ->
        [1] went the wrong way
       *[other] went the wrong way
    }
slip-wrong-screw = { $instead } was turned in place of { $screw }
slip-taken-for-each-other = { LIST($screws) } were taken for each other
slip-not-turned =
    { LIST($screws) } did not get all of { $count ->
        [1] its
       *[other] their
    } turns
slip-twice-as-far =
    { LIST($screws) } { $count ->
        [1] was
       *[other] were
    } turned twice as far as I said
slip-half-as-far =
    { LIST($screws) } { $count ->
        [1] was
       *[other] were
    } turned only half as far as I said
# The readings before the screws were turned
slip-sides-swapped-before = left and right were swapped in the readings before
slip-ends-swapped-before = up and down were swapped in the readings before
slip-as-planned = everything was turned as I said, and the mount moved differently

clockwise-as-you-face-it = Clockwise as you face the screw's head.

# What is left at a range, with twice its standard uncertainty.
miss-at-mark = At { COUNT($metres) } metres it points at its mark.
miss =
    At { COUNT($metres) } metres it points { $sideways }.
# The screen says it in full.
what-inside-means = It does not mean the assistance is safe.
found-inside = Inside the entered limits, with the entered uncertainties.
nothing-aimed = That is all. Nothing was aimed in this job, and the record says so.

# The way of a correction, by its name in the job file.
move-left = left
move-right = right
move-up = up
move-down = down
move-in = in
move-out = out
move-towards = towards
move-away = away
move-away_from = away from
move-clockwise = clockwise
move-anticlockwise = anticlockwise

# Several results judged together.
verdict-too-close = Too close to the limit to call.
verdict-sets-disagree = { $title }: the two sets do not agree. We measure them again.

# The end of a visit. $left: titles of steps that are asked once for a car.
left-to-last-sensor = At the last sensor: { LIST($left) }.
left-undone = Not done yet: { LIST($left) }.

# What earlier jobs found and still holds. $days: how long ago, by the calendar.
taken-over = Taken over from { $days ->
        [0] today
        [1] yesterday
       *[other] { COUNT($days) } days ago
    }: { LIST($stages) }.
