# The card for the wall: what may be said, on one printed page.

card-title = What you can say to the companion
card-rule = It asks, you answer, it says back what it understood. Only yes makes a number count. Silence is never yes.

card-answers = Answers
card-means-yes = What was said back, or proposed, is right.
card-means-no = It is wrong; it is asked again.
card-means-done = What was asked for is done.

card-numbers = Numbers
card-numbers-how = Digit by digit is understood best. With a direction where one is asked for, never plus or minus. The unit may be left out.
card-pair = Two readings asked for at once: say one after the other, such as "{ $example }".
card-together = Two or three numbers said back together: yes to all, no to hear each by itself, or "the third is four one nine".

card-commands = At any time
card-does-repeat = the question once more, in full
card-does-wait = pause; nothing is lost
card-does-carry_on = go on after a pause or a stop
card-does-go_back = take the last step back
card-does-stop = stop at once; leave everything as it is
card-does-end_job = after a stop: end the job without a result
card-does-what_can_i_say = what may be said here
card-does-where_are_we = the stage and the step
card-does-note = keep a note with the job
card-does-louder = it speaks louder
card-does-quieter = it speaks more quietly
card-does-slower = it speaks more slowly
card-does-faster = it speaks faster

card-tones = Tones
card-tone-listening = Two notes that rise: your turn.
card-tone-heard = One short high note: understood.
card-tone-refused = Two low notes, falling: not understood.

card-pedal = Pedal
card-pedal-once = One press: yes, done or continue.
card-pedal-twice = Two quick presses: no; elsewhere repeat.
card-pedal-held = Held for a second: stop.

card-lost = When it does not hear you
card-lost-say-in-full = Wait for the tone. Say only the answer.
card-lost-digits = Say numbers digit by digit.
card-lost-nearer = Come nearer to the microphone, or turn the noise off.
card-lost-type = Type it, or press the pedal. Check on the screen what was taken.
