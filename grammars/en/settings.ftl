# What `companion settings` says: each setting's meaning, and how its values are described.
# The names of settings, and their values, are as they are typed.

setting-job_file = the job: its stages and steps
setting-vehicle_file = the vehicle maker's figures
setting-mount_file = the radar's mount and screws
setting-bay_file = the bay and its stand
setting-language = what is spoken and shown: a folder of 'grammars', such as en or es
setting-report_language = what reports are written in; not set: the language that the job was done in
setting-step_kinds = folder with kinds of step of your own; it is code that runs as the companion does
setting-technician = who does the jobs, for the record
setting-record = the record of all jobs; recorded voices lie beside it
setting-keep_sound = keep the sound of answers where the technician agrees; false: never
setting-keep_sound_days = how long recorded voices are kept; the words stay
setting-store = the store of many boxes that 'companion ship' sends to; not set: none
# pragma: allowlist nextline secret
setting-store_password_file = file with this box's password for the store, as the store's keeper gave it
setting-published_by = file with the public keys of those who may publish files to this box; not set: nobody
setting-ship_sound = send kept sound to the store as well; the technician is told before agreeing; false: never
setting-keep_plate = keep the car's registration plate; false: never
setting-keep_vin = how much of the vehicle identification number is kept
setting-keep_cars_days = how long order, plate, VIN and complaint are kept; the record of the job stays
setting-vin_check_digit = whether VINs of this market have a check digit at position 9
setting-floor_holds_days = how long later jobs may use the floor as it was read in this bay
<<<<<<< HEAD
setting-overdue_instruments = what happens when the certificate of an instrument has run out; say: it is said, and the report says so; refuse: no job starts
=======
setting-unchecked_stand = what happens when the stand's last check (companion check-stand) failed, is older than heads_hold_days, or was never done; say: a failed or overdue one is said, and all stand in the report; refuse: no job that rests on it starts
setting-overdue_instruments = what happens when the certificate of an instrument has run out; say: it is said, and stands in the report; refuse: no job starts
>>>>>>> doubt
setting-heads_hold_days = how long later jobs may use what was found out about the laser heads
setting-ears = what hears the answers; typed: keyboard only
setting-vosk_model = folder of the Vosk model, for "ears: vosk"
setting-microphone = the microphone by its name or a part of it; not set: the system's own
setting-deaf_after_speaking_s = how long the companion does not listen after speaking
setting-pedal_key = the pedal's key as the kernel names it, such as KEY_F13 or BTN_0; empty: no pedal
setting-voice_check = when to offer a check of how well a voice is heard (ten words)
setting-voice = whether prompts are spoken; silent: they are only shown
setting-loudspeaker = the loudspeaker by its name or a part of it; not set: the system's own
setting-voice_speed_wpm = how fast the voice speaks
setting-loudness_in_quiet_db = how loud the voice is in a quiet room, below its full level
setting-loudness_limit_db = how loud the voice may become, in noise or after "louder"
setting-loudness_follows_noise = whether the voice grows louder when the bay is loud
setting-earcons = short quiet tones for: listening, heard, not understood
setting-display_host = address that the display listens on; any other opens it to the network
setting-display_port = port that the display listens on

setting-is-not-set = not set
setting-is-example = the shipped example { $file }
setting-published = published, version { $version }
setting-by-default = default
setting-from-line = { $file } line { $line }
setting-wanted = wanted: { $wanted }; default: { $default }
setting-range = { $low } to { $high }
setting-true-or-false = true or false
setting-a-path = a path
setting-a-language = the code of a language
setting-a-key = the name of a key
setting-a-text = text
setting-unit-s = s
setting-unit-dB = dB
setting-unit-days = days
setting-unit-words_a_minute = words a minute
settings-file = Settings file: { $file }
settings-no-file = Settings file: none (it would be { $file })
settings-nothing-set = Nothing is set in it yet. See: companion settings --explain
settings-file-head = Settings of the bay companion. Remove the "#" in front of what you set.
settings-file-line = { $meaning } (wanted: { $wanted })
