# What the companion tells of itself while a job runs, and the marks before a line in the terminal.

mark-says = says
mark-hears = hears
mark-not = not
mark-taken = taken
mark-judged = judged
mark-stops = stops
mark-note = note
mark-drift = drift
mark-you = you
screen-stage-number = { $number } of { $of }  { $title }

live-hearing-hung = My hearing has stopped responding. I am restarting; nothing is lost.
live-voice-back = The voice is back.
live-voice-gone = The voice is gone; read the prompts on the screen. ({ $error })
live-words-left-out = { $ears } does not know: { $words }. What can only be said with these words is left out; each can be said another way.
live-waiting-for-device = { $error }. I am waiting until it is plugged in.
live-microphone-gone = The microphone is gone: no sound from { $name }. Plug it in, or type.
live-microphone-back = The microphone is back.
live-disk-full = The disk is full. I am waiting until there is room. Nothing is lost.
live-disk-has-room = There is room on the disk again.
live-clock-forward = This computer's clock jumped forward by { $seconds } s. The job goes on; the record also keeps a clock that does not jump.
live-clock-back = This computer's clock jumped back by { $seconds } s. The job goes on; the record also keeps a clock that does not jump.
live-session = Session { $session }.
live-next = The report: { $report }. Its sign-off: { $sign }
live-not-watched = This job was not checked for drift: { $why }
live-example-files = EXAMPLE FILES, NOT A MAKER'S VALUES.
live-interrupted = Interrupted; nothing is lost. To continue: { $command }
live-visit = Visit { $visit }, session { $session }.

# Spelled aloud outside of a job: a VIN, a plate, an order's number, a code.
spell-order = Order
spell-plate = Plate
spell-odometer = Odometer, kilometres
spell-code-before = Code before the work
spell-code-after = Code after the work
spell-first-of-vin = VIN: spell the first { $count }, or type or scan it. Done leaves it out.
spell-next = The next { $count }.
spell-some = { $what }: spell up to { $count } at a time, or type it. Say done at the end.
spell-more = More, or done.
spell-back = { $signs }. Yes or no?
spell-not-understood = Not understood. Letters as alfa, bravo, charlie; digits one by one; no more than { $count } together.
spell-never-in-vin = No VIN has the letter { $letter }. Look again: it may be a { $letter ->
        [I] 1
       *[other] 0
    }.
spell-check-digit = By its check digit one sign is wrong. Once more from the beginning, or say stop and type it.
spell-type-or-scan = These ears ({ $ears }) do not know the spelling alphabet: type it or scan it.
spell-left = Left out. It can be entered later: { $command }

# A visit laid beside the car's last one.
visit-first-time = Nothing of this car's last visit is here to compare with.
visit-beside = { $job }: { $before } beside { $this }
visit-clock = Nothing vouched for the clock of { $session }: its date may be wrong.
