# The screen in the bay.

screen-title = Bay display
screen-companion = Bay companion
screen-lost = No connection. What is shown here may be out of date.
screen-needs-script = This page needs its script to follow the job.
screen-stages = Stages of the job
screen-stage-done = { $title }, done
screen-stage-of = of { $of } · { $title }
screen-all-stages = All { $of } stages
screen-off = The companion is off. Nobody is listening.
screen-noisy = Loud. Check me here, or type.
screen-store-refused = The store does not take this box's jobs: { $what ->
        [older] this record ends earlier than what the store has
        [fork] this is not the record it had before
        [gap] something is missing
        [changed] something was changed
        [signature] the signature is wrong
        [sound] a recording is not as it should be
        [clock] the clock contradicts itself
       *[other] it cannot read them
    }. Tell your supervisor.
screen-store-files = Published files were refused; the earlier files are used. Tell your supervisor.
screen-example = Example files, not a maker's value
screen-sound-stays = Nothing vouches for the date: no recorded voice is deleted
screen-car-stays = The date is not vouched for: what is known of the car stays
screen-what-to-do = What to do now
screen-cautions = Cautions
screen-picture = Picture
screen-last-answer = Last answer
screen-say = say
screen-heard = heard
screen-voice-check = Voice check

# What the companion waits for.
screen-mark-no_job = No job
screen-mark-asking = Read and say
screen-mark-doing = Do this
screen-mark-read_back = Is this right?
screen-mark-note = Your note
screen-mark-paused = Waiting
screen-mark-stopped = Stopped
screen-mark-ending = End the job?
screen-mark-resuming = Back again
screen-mark-over = Finished

# How far the last answer has come.
screen-answer-said_back = Heard, said back. Not taken before your yes.
screen-answer-taken = Taken
screen-answer-not_taken = Not taken
screen-answer-unlikely = Heard, but unlikely. Not taken.
screen-answer-not_understood = Not understood
screen-answer-nothing = Nothing heard
screen-answer-heard = Heard

# How to answer.
screen-reply-done = done
screen-reply-yes-or-no = yes or no
# $next: what was asked in one breath with the read-back
screen-if-yes = If yes: { $next }
screen-reply-carry_on = continue
screen-reply-end_job = cancel
screen-reply-both = { $first }, or { $second }
screen-reply-number = a number in { $unit }
screen-reply-number-with-way = a number in { $unit }, { LIST($ways, last: "or") }
screen-unit-deg = degrees
screen-unit-mm = mm
screen-unit-db = dB
screen-unit-volt = volts
screen-unit-celsius = °C
screen-unit-mm_per_m = mm per m
screen-unit-bar = bar
screen-unit-turns = turns

# Where there is nothing to do.
screen-no-job = No job is running.
screen-record-unreadable = The record cannot be read.
screen-end-inside = Inside.
screen-end-inside-means = Inside the entered limits, with the entered uncertainties. It does not say that the driver assistance is safe.
screen-end-tool_inside = The scan tool says inside.
screen-end-tool_inside-means = The companion did not measure the aim itself.
screen-end-not_aimed = Done.
screen-end-not_aimed-means = Nothing was aimed in this job.
screen-end-stopped = Ended without a result.
screen-end-stopped-means = The record is kept.

# The pictures.
picture-not-to-scale = { $seen }. Not to scale.
picture-move = The move to make: { $figure }
picture-figure =
    { $amount } { $end ->
        [level] left end{" "}
        [plumb] top{" "}
       *[none] {""}
    }{ $way ->
        [left] to the left
        [right] to the right
        [towards] towards the car
        [away] away from the car
        [up] up
       *[down] down
    }
picture-from-above = Seen from above, the car's front upwards
picture-from-the-side = Seen from the car's right side
picture-from-the-car = Seen from the car
picture-left = left
picture-right = right
picture-left-end = left end
picture-right-end = right end
picture-in-practice = Practice: a simulated instrument
picture-instrument = { $title }: the simulated instrument reads
picture-in-this-bay = In this bay: { $title }, { $answer }
picture-aim = The aim within its limits
picture-as-the-driver-sees = As the driver sees it
picture-sideways = sideways { $amount }
picture-height = height { $amount }
picture-limits = limits: { $yaw } sideways, { $elevation } in height, either way
picture-screw = The screw to turn
picture-screws = Screws, round { $round }
picture-screw-now = { $screw }: { $turns } ({ $note })
picture-facing = Seen facing the screw's head.
picture-facing-short = Facing the screw's head
picture-note-done = ✓ done
picture-note-now = now
picture-note-to_do = then
