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
live-microphone-gone = The microphone is gone ({ $name }): no sound arrives. Plug it in, or type.
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
