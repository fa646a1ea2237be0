# Every sentence of the conversation that does not stand in the job file.
# A prompt asks for one thing and puts its key word last.

# How to answer, said behind what is asked.
yes-or-no = Yes or no?
# In front of what is asked behind a read-back, in the same breath.
if-yes = If yes:
yes-or-which = Yes, or which one?
say-done = Say done.
say-done-to-all = Say all done.
say-continue = Say continue.
say-continue-or-end = Say continue, or cancel.
not-touched-or-moved = Say not touched, or was moved.

# What was understood, said back; $what: the answer
sentence = { SENTENCE($what) }
amount = { $amount }
# An answer said back to who knows that yes or no is wanted.
asked-back = { CAPITAL($what) }?
# $amounts: two or three answers that wait for one yes together.
said-back-together = { CAPITAL(LIST($amounts, last: ",")) }.
asked-back-together = { CAPITAL(LIST($amounts, last: ",")) }?

# $number: its place in the job, on the screen alone
stage = { CAPITAL($title) }.
stage-again = { CAPITAL($title) } again.
where-stage = Stage { $number } of { $of }, { LOWER($stage) }.
where = Stage { $number } of { $of }, { LOWER($stage) }. At { LOWER($title) }.

# $whole, $decimals: how many digits the number may have before and behind the point
digit-by-digit = Digit by digit, such as { EXAMPLE($whole, $decimals) }.
digit-by-digit-and-way = Digit by digit, such as { EXAMPLE($whole, $decimals) }, { DIRECTION($way) }.
way = { DIRECTION($way) }
# A number without its direction
which-way = { CAPITAL(LIST($ways, last: "or")) }? For example, { $example }.
# Typed, and no answer to this question
does-not-fit = That is not an answer here. For example: { LIST($examples, last: ";") }.
does-not-fit-or =
    That is not an answer here. For example: { LIST($examples, last: ";") }. Or { LIST($ways, last: "or") }.
type-it = I do not hear you well. Type it, or say it once more.
implausible = I heard { $heard }. I expect { $low } to { $high }. Read it again.
far-from-target = I heard { $heard }. After the move I expected { $target }. What happened? Look, and read it again.
far-from-last = I heard { $heard }. The last one was { $last }. Read it again.

# A true reading that stops the work: what was read, what is wanted.
not-allowed = { CAPITAL($heard) }. Wanted: { $low } to { $high }.

sorry = Sorry?
not-taken = Not taken.
still-waiting = I am waiting.
not-now = That does not fit here.
paused = Paused.
paused-by-silence = I hear nothing.
if-not-done-yet = If it is not done yet:
carrying-on = Carrying on.
stopped = Stopped. Leave everything as it is.
end-the-job = End the job, without a result?
ended = The job has ended without a result. The record is kept.
correction-taken-back = Correction taken back.
nothing-to-take-back = There is nothing to take back.
taken-back = Taken back: { LOWER($title) }.
speak-note = Speak your note.
note-kept = Note kept.
# Where a shop sends sound to its store, said before the question whether sound may be kept.
sound-goes-to-the-store = Kept sound also goes to the shop's store.
note-not-kept = I may only keep words, so I cannot take a spoken note.
note-not-heard = I did not hear the note. Nothing of it was kept.
you-can-say = You can say: { LIST($examples, last: ";") }.
louder = Louder.
quieter = Quieter.
slower = Slower.
faster = Faster.

resumed = I am back. We were at { LOWER($title) }.
was-it-begun = Was anything moved for this correction?
was-it-touched = Was the stand or the car touched?
a-correction = a correction
the-end = the end

# The voice check.
offer-voice-check = Check how well I hear you? Ten words, half a minute.
each-after-me = Say each word after me.
say-word = Say { $word }.
voice-check-left = No check, then.
say-digits = Say every number digit by digit.
digits-as-found = Say every number digit by digit, as the voice check found.
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

sides = Left and right are the car's.
cautions-known = Today's cautions still apply. They are on the screen.
instrument-overdue = Certificate out of date: { $name }.
stand-check-failed = The stand failed its last check.
stand-check-overdue = The stand's monthly check is overdue.

could-never-pass = These files cannot give a result at { LOWER(LIST($titles)) }. Tell your supervisor.

# What the room sounded like before the first word.
noise-overdriven = The microphone is overdriven. Hold it further away, or turn its level down.
noise-dead = I hear nothing at all from the microphone. Is it switched on?
noise-quiet = It is quiet enough to work by voice.
noise-loud = It is loud. Speak near the microphone; I may ask twice.
noise-too_loud = It is too loud here. Use the keyboard or the pedal, or wait until it is quieter.

# Why something no longer counts, or why the job is over, as the record keeps it.
why-ended = ended by the technician
why-touched = touched while the companion was off
why-taken-back = taken back by the technician
why-correction-taken-back = correction taken back by the technician
drift-floor = The floor of this bay has likely changed. Have it checked before the next job.
drift-stand = The stand has likely changed. Have it checked before the next job.
