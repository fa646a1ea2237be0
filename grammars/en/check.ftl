# What `companion check` and `companion files` say.

# Before each line. The commands and the names of settings are as they are typed.
check-mark-well = ok
check-mark-look = look
check-mark-wrong = WRONG
check-mark-skipped = -
check-mark-ask = ask
check-line = { $title }: { $found }
check-wanted = wanted: { $wanted }
check-wanted-word = wanted
check-to-do = to do: { $what }
check-ready = Ready.
check-not-ready = Not ready: see what is WRONG above.
check-see-what-was-found = See what was found.
check-no-fault = no fault
check-readable-files = readable files

check-title-files = job, vehicle, mount and bay
check-title-disk = room for the record
check-title-record = the record itself
check-title-rights = rights of record and settings
check-title-clock = clock
check-title-store = store of many boxes
check-title-microphone = microphone
check-title-level = microphone's level
check-title-noise = noise in the room
check-title-words = recogniser's words
check-title-speed = recogniser's speed
check-title-loudspeaker = loudspeaker
check-title-voice = voice
check-title-loop_back = loop-back: speak and hear
check-title-speech = somebody speaking

# The job's files.
check-files-wanted = files that fit together, with the maker's figures
check-files-example = Example figures are in use. Enter the maker's in files of your own and set those.
check-files-reply-twice =
    { $count ->
        [one] The prompt of { $steps } already says how to answer, and the companion says so again.
       *[other] The prompts of { $steps } already say how to answer, and the companion says so again.
    }
check-files-reply-twice-to-do = Take it out of the text: the companion says it by itself.

# What lies on the disk.
check-disk-found = { $free } MB free at { $folder }
check-disk-wanted = at least { $least } MB
check-disk-to-do = Make room, or delete old recordings: companion clips expire --days 30
check-record-wanted = a record in which every page is whole
check-record-none-yet = there is none yet; the first job makes it
check-record-to-do = companion verify; then move it away and put a copy back: companion restore
check-record-whole = { $file }, { $size } MB, is whole
check-clock-wanted = a time service that has set the clock
check-clock-set = the clock is synchronised
check-clock-not-set = nothing vouches for the date; the record will say so
check-clock-to-do = Let the box reach a time server, or give it a clock that keeps running without power.
check-store-wanted = everything sent and accepted
check-store-not-set = no store is set
check-store-never = nothing was ever sent
check-store-never-to-do = companion ship; on a box: systemctl enable --now bay-companion-shipping.timer
check-store-sent = everything was sent { $when }
check-store-told = { $told } ({ $when })
check-store-files = published files were refused: { $told } ({ $when })
check-store-files-to-do = Tell the person who published them. Until then jobs are done with the earlier files.
check-store-refused-to-do = Tell the keeper of the store, and look at the record: companion verify --store ...
check-store-later = Nothing is lost: it goes out when the store can be reached again.
check-rights-wanted = written by this user, read by no stranger
check-rights-folder = { $folder } cannot be written to
check-rights-record = { $record } cannot be read and written
check-rights-settings = everybody may change { $file }
check-rights-strangers = everybody on this machine can look into { $folder }
check-rights-strangers-to-do = Voices are personal data: chmod o-rwx { $folder }
check-rights-read = others besides its owner can read { $file }
check-rights-change = everybody can change { $file }
check-rights-do = { $command }
check-rights-chown = chown this user { $path }
check-rights-chmod = chmod o-w { $path }
check-rights-well = { $folder } can be written to

# The ears.
check-answers-typed = answers are typed
check-answers-typed-and = answers are typed, and: { $error }
check-microphone-own = the system's own microphone
check-microphone-wanted = a microphone that records
check-microphone-to-do = Plug it in. To see its name: companion check --devices; then set 'microphone'.
check-microphone-found = { $name } gave { $seconds } s of sound
check-microphone-none = there is no microphone
check-level-wanted = sound above { $dead } dBFS and not cut off at full scale
check-level-found = up to { $loud } dBFS, { $cut } cut off
check-level-silent = No sound arrives. Switch it on; turn its level up.
check-level-loud = Hold it further away, or turn its level down.
check-noise-wanted = noise below { $most } dBFS while nobody speaks
check-noise-found = floor { $floor } dBFS, often { $loud } ({ $seconds } s)
check-words-wanted = a recogniser that knows every word of the job
check-words-to-do = Set another recogniser, or another model.
check-words-left-out = { $ears } does not know: { $words }
check-words-left-out-to-do = Nothing need be done: each answer has another word.
check-words-well = { $ears } knows all words
check-speed-wanted = at most { $most } s of work for a second of speech
check-speed-found = { $ears } works { $work } s for a second of speech
check-speed-slow = Answers come late when anything else runs on this box: let nothing else run on it.
check-speed-too-slow = This box is too slow for these ears. Take a faster one, or --ears sphinx, or --ears typed.

# The voice.
check-loudspeaker-own = the system's own loudspeaker
check-loudspeaker-wanted = a loudspeaker that plays
check-loudspeaker-shown = prompts are shown, not spoken, and: { $error }
check-loudspeaker-to-do = Plug it in. To see its name: companion check --devices; then set 'loudspeaker'.
check-loudspeaker-well = { $name } can play
check-voice-wanted = a spoken prompt
check-voice-to-do = Install a speech synthesiser: apt install espeak-ng libespeak-ng1
check-voice-found = { $maker } spoke { $seconds } s, up to { $loudest } of full scale
check-voice-silent = The speech synthesiser gives silence. Reinstall it.
check-voice-complaints = Before that, this failed: { $complaints }
check-loop-wanted = “{ $phrase }”, spoken here and heard here
check-loop-no-reading = the job has no reading to listen for
check-loop-well = “{ $words }”, { $rise } dB above the room
check-loop-deaf = the microphone does not hear the loudspeaker
check-loop-deaf-to-do = Hold a headset's earpiece to its microphone and check again, or turn it up.
check-loop-other = a sound { $rise } dB above the room, understood as “{ $words }”
check-loop-other-to-do = Check again where it is quiet; then speak a job.

# Somebody speaking. The sentence holds a number and words of the job.
check-sentence = left arm, seven seven five millimetres, continue
check-please-say = Please say, for three seconds: { $sentence }.
check-speech-wanted = speech of { $quietest } to { $loudest } dBFS, { $above } dB above the room
check-speech-nobody-asked = nobody is asked to speak
check-speech-nobody = nobody spoke within { $seconds } s
check-speech-found = speech of { $level } dBFS, { $above } dB above the room, { $cut } cut off
check-speech-judged = { $what }: { $found }
check-speech-overdriven = overdriven
check-speech-too-loud = too loud
check-speech-too-quiet = too quiet
check-speech-too-far = too far away for this noise
check-speech-turn-down = Turn the microphone's level down and repeat.
check-speech-turn-down-a-little = Turn the microphone's level down a little.
check-speech-nearer = Come nearer to the microphone, turn its level up, and repeat.
check-speech-two-fingers = Bring the microphone to two fingers from the mouth, or wait until it is quieter.
check-speech-turn-up = Turn the microphone's level up.

# The sound devices by name.
check-devices-none = No sound devices.
check-device-both = microphone, loudspeaker
check-device-microphone = microphone
check-device-loudspeaker = loudspeaker

# `companion files`.
files-could-never-pass = Nothing could pass at { LOWER($title) }: the uncertainty of { $result } would be { $uncertainty } where { $allowed } is allowed, so at best { $best } inside; wanted is { $wanted }. Most of it comes from { $cause }.

# What the microphone hears of the loudspeaker.
check-title-echo = answers into prompts
check-echo-sentence = This is how loud I speak. Please say nothing until I have ended.
check-echo-wanted = a loudspeaker that the microphone hears no louder than the background, and below { $most } dBFS
check-echo-off = not set: the companion does not listen while it speaks
check-echo-listening = Nobody speak, please: I say one sentence as loudly as I may.
check-echo-found = the loudspeaker arrives at { $echo } dBFS, { $above } dB above the background, after { $delay } ms
check-echo-found-below = the loudspeaker arrives at { $echo } dBFS, { $above } dB below the background, after { $delay } ms
check-echo-not-found = the loudspeaker is not heard: at most { $echo } dBFS, { $above } dB below the background
check-echo-yes = answers into prompts are possible: { $found }
check-echo-no = answers into prompts are not possible: { $found }
check-echo-yes-to-do = To allow them: 'answers_into_prompts: true' in the settings.
check-echo-no-to-do = Use a headset, or have the loudspeaker farther from the microphone; then measure again.
check-echo-dead = the microphone gives no sound
