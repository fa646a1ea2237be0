# Every sentence of the conversation that does not stand in the job file.
# A prompt asks for one thing and puts its key word last.

yes-or-no = Yes or no?
# $what: the answer as it was understood
read-back = { SENTENCE($what) } Yes or no?

stage = Stage { $number }, { LOWER($title) }.
stage-again = Stage { $number } again, { LOWER($title) }.
where = Stage { $number } of { $of }, { LOWER($stage) }. At { LOWER($title) }.

# $whole, $decimals: how many digits the number may have before and behind the point
digit-by-digit = Digit by digit, such as { EXAMPLE($whole, $decimals) }.
type-it = I do not hear you well. Type it, or say it once more.
implausible = I heard { $heard }. I expect { $low } to { $high }. Read it again.
far-from-last = I heard { $heard }. The last one was { $last }. Read it again.

sorry = Sorry?
not-taken = Not taken.
still-waiting = I am waiting.
not-now = That is no answer to this question.
paused = Paused. Say continue.
paused-by-silence = I hear nothing, so I pause. Say continue.
if-not-done-yet = If it is not done yet:
carrying-on = Carrying on.
stopped = Stopped. Leave everything as it is. Say continue, or end the job.
end-the-job = End the job, without a result? Yes or no?
ended = The job has ended without a result. The record is kept.
correction-taken-back = Correction taken back.
nothing-to-take-back = There is nothing to take back.
taken-back = Taken back: { LOWER($title) }.
speak-note = Speak your note.
note-kept = Note kept.
note-not-kept = I may keep words only, so a spoken note is not kept.
you-can-say = You can say: { LIST($examples, last: ";") }.
louder = Louder.
quieter = Quieter.
slower = Slower.
faster = Faster.

resumed = I was switched off. We were at { LOWER($title) }. Was the stand or the car touched? Not touched, or was moved?
resumed-early = I was switched off. We were at { LOWER($title) }.
a-correction = a correction
the-end = the end

# The voice check.
offer-voice-check = Check how well I hear you? Ten words, half a minute. Yes or no?
each-after-me = Say each word after me.
say-word = Say { $word }.
voice-check-left = No check, then.
say-digits = Say every number digit by digit.
digits-as-found = As the voice check found: say every number digit by digit.
# $outcome: well, fair or poor
voice-checked =
    { $mistaken ->
        [0] I heard { $right } of { $asked }.
       *[other] I heard { $right } of { $asked } and took { $mistaken } for another word.
    } { $outcome ->
        [well] I hear you well.
        [fair] It will do; you may be asked twice.
       *[poor] I cannot rely on it. Answer at the screen, or by the pedal.
    }

sides = Left and right are always the car's, as the driver sits. Clockwise is as you face the screw's head from in front.
