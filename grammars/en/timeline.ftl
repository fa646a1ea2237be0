# A job line by line: who said or did what, and what became of it. Also what was advised and why.

who-companion = companion
who-technician = technician
who-kept = kept
who-worked_out = worked out
who-session = session

purpose-ask = asks
purpose-read_back = says back
purpose-explain = explains
purpose-instruct = instructs
purpose-announce = announces
purpose-caution = cautions
purpose-unknown = says

label-stage = stage
label-heard = heard
label-refused = refused
label-silence = silence
label-late = late
label-note = note
label-confirmed = confirmed
label-answered = answered
label-done = done
label-consent = consent
label-taken_back = taken back
label-result = result
label-decision = decision
label-correction = correction
label-screws = screws
label-move = move
label-advice = advice
label-doubted = unlikely
label-not_allowed = not allowed
label-misfit = misfit
label-noise_check = noise check
label-voice_check = voice check
label-opened = opened
label-resumed = resumed
label-stopped = stopped
label-finished = finished
label-sign_off = sign-off
label-sound_deleted = sound deleted
label-enrolled = enrolled
label-pin = PIN
label-wrong_pin = wrong PIN
label-removed = removed
label-date = date
label-likely_misread = likely misread
label-shims = shims
label-cannot_pass = nothing could pass

line-quoted = “{ $words }”
line-stage = { $title } ({ $number }/{ $of })
line-understood-as = understood as { $what }
line-confidence = confidence { $confidence }
line-into-prompt = said into the prompt, of which { $sounded } of { $whole } s had sounded
line-heard-by = by { $ears }
line-next-guesses = next guesses: { $guesses }
line-why = { $why }: { $what }
line-no-reason = no reason recorded
line-levels = speech { $speech } dBFS, background { $background } dBFS
line-background = background { $background } dBFS
line-no-answer = no answer
line-no-answer-in = no answer in { $seconds } { $seconds ->
        [one] second
       *[other] seconds
    }
line-late = an answer to an earlier question, not taken
line-note-with-sound = a note for the supervisor, with sound
line-note-without-sound = a note for the supervisor, no sound kept
line-proposed = proposed by the vehicle's file, and answered yes
line-attempts = after { $attempts } attempts
asked-correction = Touched for the correction
asked-break = Touched in the break
line-keep-sound = keep sound: { $answer }
line-title-and-value = { $title }: { $value }
line-aim = aim
line-by-limits-alone = by its limits alone
line-chance = chance of being inside { $chance }
line-chance-of-both = chance of both being inside { $chance }
line-round = round { $round }: { $turns }
line-judged = judged { $what }
line-misfit = Readings that do not fit together.
line-opened-by = by { $name }
line-vehicle-chosen = vehicle { $vehicle }, chosen of { $count }: { $heard }, and yes to it
line-vehicle-of-visit = vehicle { $vehicle }, as for visit { $visit }
line-nobody-named = nobody named
line-resumed = taken up again after a break
line-signed-off = { $name } ({ $role }) signed off events 1 to { $events }
line-with-a-signature = with a signature
line-amended = instead of event { $event }: { $now }
line-amended-by = { $name } (supervisor), { $proven }
line-sound-deleted =
    { $count ->
        [one] { $count } clip; its hash is kept
       *[other] { $count } clips; their hashes are kept
    }
line-name-typed = name typed, not proven
line-with-a-key = with a key
line-pin-claimed = a PIN is claimed, no key signed it
line-vouched-for-by = vouched for by { $name }
line-vouched-for-by-nobody = vouched for by nobody
line-has-a-key = { $name } ({ $role }) has a key
line-has-a-new-key = { $name } ({ $role }) has a new key
line-pin-changed = { $name } has a new PIN
line-pin-failed = a wrong PIN was given for { $name }
line-signs-no-more = { $name } no longer signs
line-removed-by = signed by { $name }
line-date-vouched = everything up to job { $session } was recorded before this
role-technician = technician
role-supervisor = supervisor

meaning-number = a number: { $what }
meaning-choice = the answer { $what }
meaning-command = the command { $what }
meaning-done = done
meaning-yes = yes
meaning-no = no
meaning-word = the word { $what }
meaning-confirmed = yes, and { $what }
meaning-mended = number { $place } is { $what }

# The checks before the work.
room-told = { $voice }: { $advice }
voice-reliable = voice reliable
voice-uncertain = voice uncertain
voice-unreliable = voice unreliable
room-levels = floor { $floor } dBFS, often { $loud }
voice-check-told = heard { $outcome }, { $right } of { $asked } words right
voice-outcome-well = well
voice-outcome-fair = fairly
voice-outcome-poor = poorly
voice-outcome-declined = declined
voice-outcome-left = broken off
voice-outcome-unanswered = not answered
voice-confused = taken for another: { $words }
voice-speech = speech { $level } dBFS
voice-above-noise = { $level } dB above the noise
voice-digit-by-digit = numbers digit by digit from here on
voice-asked-again = answers below { $confidence } asked again

# What was advised.
settle-hardly = more readings would hardly settle it
settle-readings =
    { $count ->
        [one] { $count } reading, averaged, should settle it
       *[other] { $count } readings, averaged, should settle it
    }
settle-sets =
    { $count ->
        [one] { $count } more set of readings should settle it
       *[other] { $count } more sets of readings should settle it
    }
moves-then = { $before }, then { $move }
moves-none = none
moved-turn-left = turned { $amount } to the left
moved-turn-right = turned { $amount } to the right
moved-sideways-left = moved { $amount } to the left
moved-sideways-right = moved { $amount } to the right
moved-distance-away = moved { $amount } away from the car
moved-distance-towards = moved { $amount } towards the car
moved-height-up = plate { $amount } up
moved-height-down = plate { $amount } down
# What may have happened at the screws. $screws, $instead: which
story-as_planned = as planned
story-wrong_way = wrong way
story-wrong_screw = wrong screw
story-wrong_amount = wrong amount
story-twice_as_far = twice as far
story-half_as_far = half as far
story-not_turned = not turned
story-sides_swapped_before = left and right swapped in the readings before
story-ends_swapped_before = up and down swapped in the readings before
story-ambiguous = ambiguous
story-unexplained = unexplained
story-of = { $story }, { $screws }
story-instead = { $story } (the { $instead } in its place)
stories-either = either { $stories }
story-chance = { $story } ({ $chance })
suspects-told = { $likely }; read again: { $again }
suspects-nobody = nothing in particular
suspect-share = { $cause } ({ $share })
asked-again-all = all of them
shim-under = { $thickness } under { $spot }
shims-told = { $under } for a floor twist of { $twist } (without shims { $limits })
shims-none = none
cannot-pass-told = { $title }: standard uncertainty { $uncertainty }, limits { $limits }
cannot-pass-before = { $told }, seen before any work

advice-amount = { $amount } ± { $expanded } (U = k u, k = 2, about 95 %; standard uncertainty u = { $uncertainty })
advice-shims = Shims: { $under }
advice-shims-twist = floor twist { $twist }; without shims { $limits }
advice-taken-into-account = taken into account: { $title } { $amount }
advice-moves = Moves of the stand, in their order: { $count }
advice-makes-stale = { $move }; to be measured again: { $titles }
advice-foot = foot { $ahead } ahead and { $left } left of the centre (u { $uncertainty })
advice-suspects = Suspects ({ $title })
advice-suspect = { $share } { $cause }, misread by { $error } if it was that
advice-read-again = read again: { $again }
advice-screws = Screws, round { $round }: { $turns }
advice-predicted = predicted { $title }: { $amount }
advice-predicted-chance = predicted chance of both axes inside: { $chance }
advice-move-judged = Move judged: { $what }
advice-story-chance = probability of that story: { $chance }
advice-moved = moved { $amount }
advice-cannot-pass = No reading could pass: { $title } ({ $result })
advice-uncertainty-and-limits = standard uncertainty { $uncertainty }; limits: { $limits }
advice-result = Result: { $result }
advice-at-range = at { $range }: { $sideways }, { $height }
label-taken_over = taken over
label-visit = visit
label-cars_let_go = cars deleted
label-drift = drift
label-codes = codes
label-practice = simulated bay
line-drift = { $what } has likely changed in { $where }, since { $since }
line-drift-here = { $what } has likely changed in this bay, since { $since }
line-drift-advice = Have it checked before the next job.
line-nothing = nothing
line-no-longer-holds = no longer holds: { $what }
line-visit-opened = visit { $visit } opened, or its car's details changed
line-visit-vehicle = visit { $visit }: the car is of the vehicle file { $vehicle }
line-visit-sensors = visit { $visit }: to be set, { $sensors }
line-visit-closed = visit { $visit } closed
line-codes-read =
    { $when ->
        [before] fault codes before: { $codes }
       *[after] fault codes after: { $codes }
    }
line-of-visit = visit { $visit }
line-cars-let-go =
    { $count ->
        [one] what was known of { $count } car
       *[other] what was known of { $count } cars
    }
