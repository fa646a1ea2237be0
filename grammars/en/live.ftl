# What the companion tells of itself while a job runs, and the marks before a line in the terminal.

mark-says = says
mark-hears = hears
mark-not = not
mark-taken = taken
mark-judged = judged
mark-stops = stops
mark-note = note
mark-drift = drift
mark-shows = shows
mark-you = you
typed-twice = Typed twice at once: { $words } is taken once.
screen-stage-number = { $number } of { $of }  { $title }
screen-stage-taken-over = { $title }, from what was taken over

live-hearing-hung = My hearing has stopped responding. I am restarting; nothing is lost.
live-voice-back = The voice is back.
live-voice-gone = The voice is gone; read the prompts on the screen. ({ $error })
live-words-left-out = { $ears } does not know: { $words }. What can only be said with these words is left out; each can be said another way.
live-waiting-for-device = { $error }. I am waiting until it is plugged in.
live-own-voice-heard = The microphone hears the loudspeaker: answers into prompts are not taken there. Measure again: companion check --echo
live-microphone-gone = The microphone is gone ({ $name }): no sound arrives. Plug it in, or type.
live-microphone-back = The microphone is back.
live-disk-full = The disk is full. I am waiting until there is room. Nothing is lost.
live-disk-has-room = There is room on the disk again.
live-clock-forward = This computer's clock jumped forward by { $seconds } s. The job goes on; the record also keeps a clock that does not jump.
live-clock-back = This computer's clock jumped back by { $seconds } s. The job goes on; the record also keeps a clock that does not jump.
live-session = Session { $session }.
live-next = The report: { $report } writes { $file }. Its sign-off: { $sign }
live-not-watched = This job was not checked for drift: { $why }
live-example-files = EXAMPLE FILES, NOT A MAKER'S VALUES.
live-example-which = These are examples: { LIST($files, last: "and") }.
live-interrupted = Interrupted; nothing is lost. To continue: { $command }
live-visit = Visit { $visit }, session { $session }.
live-store-refused = The store does not take this box's record: { $told }
live-store-waits = What was done here waits to be sent: { $told }
live-store-files = Published files were refused, the earlier files are used: { $told }

# The voice that the ears learn.
live-voice-learned = { $count ->
        [one] Learned from one confirmed answer of this job; your voice is now version { $version }.
       *[other] Learned from { $count } confirmed answers of this job; your voice is now version { $version }.
    }
live-voice-not-learned = Nothing was learned about your voice in this job: { $why }
live-voice-not-used = What was learned about your voice is not used: { $why }
voice-what-is-kept =
    Learning the voice of { $name }. Your voice is personal data.
    Kept on this box alone: features of what you say now, and of answers that you confirm in jobs where you say "keep the sound". With "words only" nothing of that job's voice is kept. Speech cannot be played from features, but they are yours, and might tell whose voice it is.
    The record holds a version number alone. "companion voice forget" deletes everything.
# Asked at the end of a practice.
voice-learn-now = Shall I learn your voice now? Two minutes, and I refuse you less often.
voice-whose = Your name, as in a job (--technician)
voice-may-keep-features = May features of your voice be kept?
voice-may-keep-sound = May the sound of it be kept too? It is needed to learn anew after an update of the ears, and to give recordings away.
voice-nothing-kept = Nothing was kept.
voice-begin = I will ask for { $count } words, twice each. Say each one when you hear it, the way you say it at work.
voice-say = Say: { $word }
voice-say-again = Once more: { $word }
voice-left-out = Left out: { $word }
voice-learning = One moment: learning.
voice-nothing-heard = None of the words was heard, so nothing was learned; try again in a quieter place, or look at the microphone with "companion check".
voice-learned = Learned the voice of { $name } from { $count } sounds: version { $version }.
voice-missed = Not learned: { $words }. These are heard as before.
# Spelled aloud outside of a job: a VIN, a plate, an order's number, a code.
spell-order = Order
spell-plate = Plate
spell-odometer = Odometer, kilometres
spell-code-before = Code before the work
spell-code-after = Code after the work
spell-first-of-vin = VIN: spell the first { $count }, or type or scan it. Done leaves it out.
spell-next = The next { $count }.
spell-one-by-one = One character at a time, then.
spell-some = { $what }: spell up to { $count } at a time, or type it. Say done at the end.
spell-more = More, or done.
spell-back = { $signs }. Yes or no?
spell-not-understood = Not understood. Letters as alfa, bravo, charlie; digits one by one; no more than { $count } together.
spell-never-in-vin = No VIN has the letter { $letter }. Look again: it may be a { $letter ->
        [I] 1
       *[other] 0
    }.
spell-check-digit = By its check digit one character is wrong. Start again from the beginning, or say stop and type it.
spell-type-or-scan = These ears ({ $ears }) do not know the spelling alphabet: type it or scan it.
spell-left = Left out. It can be entered later: { $command }

# Which of the shop's vehicles it is, asked before a job or a visit begins.
listed-before-number = vehicle number
vehicle-row = { $place }  { $vehicle }  ({ $file })
vehicle-last = Last time it was { COUNT($place) }, { $vehicle }.
vehicle-ask = Which vehicle?
vehicle-said = { CAPITAL(COUNT($place)) }, { $vehicle }.
vehicle-more = Or say continue.
vehicle-back = { $vehicle }. Yes or no?
vehicle-not-listed = There are only { COUNT($count) }.
vehicle-not-understood = Not understood. Say its number, or spell how it begins: alfa, bravo, charlie.
vehicle-of-visit = Vehicle of this visit: { $vehicle }.

# A visit that a job left open, told before the next job begins.
visit-open-said = The car before is not finished. Not done: { LIST($left) }.
visit-open = Visit { $visit } is open. NOT done on that car: { LIST($left) }. To do it: companion end-visit --visit { $visit }; if the car has left: companion visit close { $visit }

# A visit laid beside the car's last one.
visit-first-time = Nothing of this car's last visit is here to compare with.
visit-beside = { $job }: { $before } beside { $this }
visit-clock = Nothing vouched for the clock of { $session }: its date may be wrong.
