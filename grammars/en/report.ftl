# The report of a job: one file, and a page among others.

title-of-session = { $job }, session { $session }
job-unnamed = Job
skip-to-the-result = Skip to the result
skip-to-what-stood-out = Skip to what stood out
skip-to-what-was-said = Skip to what was said and heard
opened-at-utc = { $day }, opened { $time } UTC
opened-at-local = { $day }, opened { $time } ({ $utc } UTC)
clock-not-vouched-for = { $when } by a clock that nothing vouched for: the date may be wrong
named-technician = Technician: { $name }.
named-vehicle = Vehicle: { $name }.
named-bay = Bay: { $name }.
named-of-car = { $label }: { $value }.
car-is-personal = Order, plate and VIN are personal data.
car-not-recorded = Which car it was is not recorded: this report does not say so.
keep-as-a-file = Keep this report as a file
parts-of-this-report = Parts of this report
part-aim = Aim
part-notable = What stood out
part-pictures = Pictures
part-readings = Readings and decisions
part-cautions = Cautions
part-trust = Trust
part-appendix = Appendix
part-timeline = Said and heard
footer-session = Session { $session }, { $events } events.
footer-session-version = Session { $session }, companion { $version }, { $events } events.
times-are =
    { $zone ->
        [UTC] Times are UTC.
       *[other] Times are local, { $zone }.
    }
carries-clips = This file carries { $count } { $count ->
        [one] clip
       *[other] clips
    } of a recorded voice: personal data.

# The result.
example-files-note = Example files: not a maker's value anywhere. No car may be judged by this.
headline-inside = The radar's aim is inside the entered limits.
headline-inside-means = This holds with the limits entered for this car and the uncertainties entered for the readings and scales, at the chance given below.
headline-tool_inside = The scan tool reported the aim as inside.
headline-tool_inside-means = The companion led through the steps and kept the record; it measured no aim itself.
headline-not_aimed = Nothing was aimed in this job.
headline-not_aimed-means = The companion led through the steps and kept the record; no aim was measured.
headline-outside = The radar's aim is outside the entered limits.
headline-outside-means = The car must not be handed over as aimed. The last aim and its uncertainty are below.
headline-not_settled = Not settled: too close to the limits to call.
headline-not_settled-means = With the entered uncertainties, neither inside nor outside can be claimed.
headline-stopped = Stopped before there was a result.
headline-stopped-means = Why: { SENTENCE($why) } Nothing is said here about what the job was for.
headline-unfinished = This session was not finished.
headline-unfinished-means = The record ends before a result. Nothing is said here about what the job was for.
headline-unknown = Ended with “{ $result }”.
headline-unknown-means = This result is not known here.
headline-of-the-job-means = This is how the job file ends the job, given the answers. The companion led through the steps and kept the record; it measured no more than the readings below.
headline-measured-by-the-job-means = Each result below was measured in two sets or more that agree. This holds with the limits entered for this car and the uncertainties entered for the readings and scales.
headline-chance = { $what }: { $chance }.
chance-of-both-limits = Chance that the aim is inside both limits
does-not-mean = What this does not mean
headline-rests-on = It rests on figures that the shop entered and on readings that one person spoke and confirmed. A wrong figure in a file, or a scale that is off, does not show in it.
headline-examples = It was made with example files. Their limits, dimensions and uncertainties are examples, not a maker's values: no car may be judged by them.
not-meant-safe = It does not say that driver assistance is safe, or that braking or distance keeping works: it says where the radar's beam pointed while this was measured.
not-meant-rest = It does not cover fault codes, software, the windscreen camera, or anything that moved after the last reading.
expanded-uncertainty-note = ± is the expanded uncertainty U = k u with k = { $k }: about nineteen times in twenty the true value lies within that distance. Left and right are the car's own, as seen from the driver's seat.

# The aim.
aim-title = Aim before and after
look-before = as found
look-after = after round { $round }
look-of-sets = { $when }, mean of { $sets } sets
look-first = { $when }, first look at { $levels } levels
look-short = { $when }, short set of { $levels } levels
column-when = When
column-sideways = Sideways
column-up-or-down = Up or down
column-chance-of-both = Chance of both inside
column-answer = Answer
once-more = to be measured once more
row-result = result, as left
row-limits = entered limits
level-wanted = at least { $level }
decision-rule = Decision rule: “inside” is said when the chance that both axes lie within their limits is at least { $level }.
decision-rule-looks = Decision rule: “inside” is said when the chance that both axes lie within their limits is at least { $level }, at look { $look } of at most { $most } at one position of the screws, which share the stated risk ({ $spent } of being wrong at a limit, used up so far).
decision-rule-entered = { $entered } was entered for the whole; looking several times gives more chances to be wrong, so each look has to be surer than that.
readings-scattered = The readings scattered { $ratio } times as far as entered; their uncertainty was widened by that.
left-at-range = What is left, at range: { $misses }.
miss-ahead = { $range } ahead
miss-both = { $sideways } ± { $sideways_u } and { $height } ± { $height_u }

# What stood out.
times-over = ({ $times } times)
event-number = event { $number }
more-in-the-appendix = { $count } more are in the appendix.
nothing-stood-out = Nothing was unlikely, no move went differently from the plan, and nothing was taken back.

# Pictures.
strip-caption = Taken: heard and not denied. Denied: said back, and the technician said no or gave another number. The numbers above are the stages.
nothing-drawn = Nothing was measured that could be drawn.
dials-caption = How far each screw was to be turned, seen facing its head. Each ring inwards is one whole turn.
plan-caption = The bay from above. The stand's errors are drawn much larger than they are; the factors are given in the picture.
plan-asked-for = Asked for: { $moves }.
plan-measured-again = Then, measured again: { $moves }.
leans-caption = Dots: the echo read at each detent. Line: the fitted curve. Its top is where the plate faced the radar squarely; the shaded strip is two standard uncertainties either way.
rounds-title = The aim round by round
rounds-note = Bars: two standard uncertainties either way. Shaded: the entered limits.
rounds-round = round { $round }
dials-title = Screws, round { $round }
strip-title = Answers over time
strip-count = { $answers } in { $lasted }
strip-told = { $answers } answers in { $lasted }: { $taken } taken, { $misheard } denied when said back, { $refused } refused, { $silent } questions without an answer.
strip-no-noise = No noise level was kept.
strip-noise-told = The background was { $least } to { $most } dB below full scale, with a median of { $middle }.
strip-taken = taken
strip-misheard = denied
strip-refused = refused
strip-silent = no answer
strip-noise = noise
lasted-minutes = { $minutes } minutes
lasted-seconds = { $seconds } seconds
plan-title = The bay from above
plan-factors = Car and stand are drawn to one scale. Errors of place are drawn { $shift } times and errors of angle { $turn } times as large as they are.
plan-cars-left = car's left
plan-cars-right = car's right
plan-sensor = radar
plan-last = last { $amount }
plan-first = first { $amount }
plan-stand-last = stand, last measured
plan-stand-first = stand, first found
plan-thrust = thrust direction
plan-target-caption = The bay from above. The dashed place is where it belongs, the solid one where it was last measured; how far they lie apart is drawn much larger than it is, by the factors in the picture.
plan-target-factors = Car and places are drawn to one scale. Errors of place are drawn { $shift } times and errors of angle { $turn } times as large as they are.
plan-target-wanted = where it belongs
plan-target-last = last measured
plan-tapes = plumb mark and tape
plan-front = front
plan-rear-axle = rear axle
plan-corner-left = The reflector belongs { $radius } from the rear axle's middle, { $angle } from straight back to the car's left.
plan-corner-right = The reflector belongs { $radius } from the rear axle's middle, { $angle } from straight back to the car's right.
plan-board = The board belongs { $distance } ahead of the front axle, on the thrust line, square to it.
plan-mat-front = The front mat belongs { $distance } ahead of the front axle.
plan-mat-rear = The rear mat belongs { $distance } behind the rear axle.
swings-title = Plate swings from above
leans-title = Plate leans from the side
lean-curve-first = { $title }, first round
lean-curve-last = { $title }, last round
lean-curve-told = Strongest echo at { $strongest }. Readings: { $readings }.
lean-curve-strongest = strongest at { $strongest }
lean-curve-upright = upright
lean-curve-factor = angles ×{ $factor }
lean-curve-echo = echo, dB
lean-up = up
lean-floor = floor
# The ends of the scale, short enough to stand beside each other.
lean-end-positive = top towards →
lean-end-negative = ← top away
swing-end-positive = left edge towards →
swing-end-negative = ← right edge towards

# Readings and decisions.
readings-title = Readings and decisions that count
nothing-accepted-or-decided = No reading was accepted and nothing was decided.
before-the-first-stage = Before the first stage
column-what = What
column-value-and-uncertainty = Value and uncertainty
column-limits = Limits
column-decision = Decision
reading-of-set = { $title }, set { $number }
readings-note = Tinted rows are decisions; the percentage is the chance of being inside, where one was asked for. Readings that were taken back or measured again are in the appendix.

cautions-title = Cautions given
no-caution = No caution was given in this session.

# Trust.
trust-title = Can this record be trusted?
trust-no = No: the record is not as it was written.
trust-yes = Checked when this report was made: all { $events } events follow one another unchanged, and every sound they name is there unchanged.
signed-off-by = Signed off: { $who }
signed-off-by-nobody = Signed off: by nobody yet.
signed-checked = checked: { $worth }
head-hash = Head hash of this session: { $hash }
head-hash-note = Keep this line. Anyone who has it can show later whether the record still ends here; the record by itself cannot.
finding-at = event { $event }: { $what }
finding-damaged = it cannot be read
finding-guards = its guards against changes are missing
finding-gap = events are missing
finding-changed = its content was changed
finding-chain = it does not follow on the event before it
finding-clip_missing = its sound is missing
finding-clip_changed = its sound was changed
finding-signature = its signature does not hold
finding-head = its end is not the one that was kept elsewhere
finding-orphan = it belongs to no session
finding-sealed = it is not what was sealed
finding-rolled_back = it is an older file
finding-index = the index beside it says otherwise
finding-box = the box's signatures do not hold
finding-person = a person's key does not hold

# The appendix.
appendix-title = Appendix: the whole record of this session
appendix-example = Example, not a maker's value: this applies to every figure below.
every-reading = Every reading
no-reading = No reading was accepted.
readings-number = Readings { $number }
column-reading = Reading
column-value = Value
column-uncertainty = Standard uncertainty
column-said-as = Said as
column-tries = Tries
column-at = At
read-again-later = read again later
every-decision = Every decision
nothing-decided = Nothing was decided.
decisions-number = Decisions { $number }
column-question = Question
column-chance-inside = Chance inside
column-wanted = Wanted
decision-time = { $title } (time { $times })
decided-again-later = decided again later
by-limits-alone = by limits alone
budget-title = Where the last aim's uncertainty comes from
budget-of = { $title }: { $shares }.
timeline-title = What was said and heard
timeline-note = Each stage opens separately; a link to an event opens the stage that it belongs to.
stage-summary = from { $time }, { $events } events
stage-summary-not-taken = from { $time }, { $events } events, { $refused } not taken
sound-of-event = Sound of event { $number }
sound-kept = ♪ sound kept
sound-missing = the sound is missing or cannot be read
sound-changed = the sound was changed since it was kept and is not played here
sound-expired = the sound expired on { $day }
sound-left-out = the sound is left out of this report
refusals-title = What was not taken
refusals-count =
    { $count ->
        [one] { $count } time the companion could not accept what it heard:
       *[other] { $count } times the companion could not accept what it heard:
    }
column-event = Event
column-why = Why
column-more = More
nothing-refused = Nothing was refused and no question was left unanswered.
what-else-stood-out = What else stood out
entered-title = What the shop entered
file-job = Job
file-vehicle = Vehicle
file-mount = Sensor mount
file-bay = Bay
column-field = Field
column-entered = Entered
files-used = Files used, by their SHA-256

# What was taken over from an earlier job.
taken-over-title = Taken over
taken-over-note = Measured in an earlier job of this record, and taken as still true on the technician's word and by the shop's settings; not measured in this job.
taken-over-from = job { $session }, event { $event }, { $when } UTC
column-stage = Stage
column-from = From

# The budget, line by line.
budget-note = Sensitivities and contributions stand without a direction: degrees of aim for one unit of the line, sideways · up or down. Readings taken several times are one line. The combined standard uncertainty is the root of the sum of squares, with what both axes share; where a line's degrees of freedom are ∞, its figure was entered as known.
budget-what = Term
budget-distribution = Distribution
budget-u = Standard uncertainty
budget-sensitivity = Sensitivity
budget-freedom = Degrees of freedom
budget-sideways = Sideways
budget-up-or-down = Up or down
budget-entered = Entered in
budget-line = { $name }: { $part }{ $takes ->
        [one] {""}
       *[other] , mean of { $takes }
    }
budget-at-step = { $step }, { $at }
budget-line-entered = { $term } ({ $at })
term-head_doubt_deg = Laser head square to its clamp
term-head_mean_doubt_deg = Laser heads square to their clamps, the mean of both
term-heads_apart_doubt_deg = Laser heads unlike one another
term-heads_reseated_doubt_deg = Laser heads seated anew
term-heads_out_left_deg = Laser heads, as the stand's check found them
term-settled_toe_doubt_deg = Toe after lifting and settling
term-plate_to_bar_doubt_deg = Plate parallel to the mirror bar
term-wheel_back_doubt_deg = Wheel put back to its start
term-detent_doubt_deg = Detent of the plate
term-hinge_doubt_mm = Axis that the plate turns about
term-ripple_doubt_db = Echoes of the room
term-level_doubt_mm_per_m = The level itself
term-line_laser_doubt_deg = Line laser's own level
term-settled_pitch_doubt_deg = Body's pitch after lifting and settling
term-turning_foot_doubt_mm = Foot that the stand turns about
term-job = Entered in the job file
budget-combined = Combined standard uncertainty u
budget-expanded = Expanded uncertainty U = k u, k = { $k } (about 95 % coverage)
part-scatter = scatter
part-rounding = rounding
part-scale = scale and method
part-doubt = doubt
part-entered = entered uncertainty
distribution-normal = normal
distribution-rectangular = rectangular
distribution-u_shaped = U-shaped
entered-job = job file
entered-bay = bay file, { $field }
entered-vehicle = vehicle file, { $field }
entered-mount = mount file, { $field }
entered-worked-out = worked out from the plate's figures

# As found, as left; the rule.
as-left-locked = As left: measured after the screws were locked.
as-left-untouched = As left: the screws were not turned in this job; the aim is as found.
decision-rule-guard = For one axis alone, with the other in the middle, this accepts up to { $sideways } sideways and { $height } up or down: a guard band of { $guard_sideways } and { $guard_height } inside the limits.
decision-rule-risk = The risk is the customer's: that an aim just beyond a limit is called inside.
decision-rule-wrong = Were the entered uncertainty that matters most and that no reading of the job checks ({ $what }) three times as large, the chance would be { $chance }; it has to reach the same level.

# What the result rests on beside the readings.
instruments-title = Instruments and environment
instrument-name = Instrument
instrument-measures = Used for
instrument-serial = Serial number
instrument-certificate = Certificate
instrument-due = Valid until
instrument-was-due = { $due }, expired on the day of this job
instrument-late = { $name }: its certificate was valid until { $due } and had expired when this was measured.
stand-check-told = { $came_to ->
    [as_known] The stand's check of { $day } came out as known (session { $session }).
    [failed] The stand's check of { $day } failed (session { $session }): what was measured here rests on a stand that is not as known.
    [overdue] The stand's last check is of { $day } (session { $session }) and was overdue when this was measured.
   *[never] No check of this stand is on record: nothing here shows that it turns as known.
}
no-instruments = The shop entered no instruments: nothing here shows that they were calibrated.
not-entered = not entered
environment-title = Environment
environment-read = { $what }: { $value }.
environment-light = Light, as the shop entered it: { $told }
environment-air = Air, as the shop entered it: { $told }
environment-not-entered = Light and air: the shop entered nothing.
environment-temperature = Temperature is not a line of the budget: every angle here is a ratio of two lengths, and scales of steel or aluminium that are 15 degrees warmer than 20 °C are longer by less than 0.04 %, which the uncertainty of the laser's path already includes.
validation-title = What this companion was tried on
validation-told = Trials in simulated bays, “{ $benchmark }”, version { $version }, { $day }: of { $decisions } decisions a row on radars just outside a limit, with each error as large as entered, at most { $worst } were called inside (95 % bound { $bound }; at { $where }); the 95 % statements held in { $least } to { $most }; of { $jobs } whole jobs { $false } were falsely called inside.
validation-none = No trials of this job ship with this version.
validation-no-car = A simulation is not a validation on a car.
# Several results judged together, in the report.
verdict-title = Judged by sets that agree
verdict-note = The chance is a lower bound, over everything that was judged together.
verdict-column-judged = What was judged
verdict-column-look = Look
verdict-column-answer = Answer
verdict-column-chance = Chance of all inside
verdict-column-wanted = Wanted
verdict-look = { $look } of at most { $most }
verdict-looks = look { $look }, { $sets ->
        [one] { $sets } set
       *[other] { $sets } sets
    }
verdict-answer-inside = inside
verdict-answer-outside = outside
verdict-answer-too_close = too close to call
verdict-answer-refused = the sets disagree
