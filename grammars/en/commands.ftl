# What the commands print that are given before, beside and after a job.

# What is asked at the terminal.
prompt-yes = y yes
prompt-no = n no
prompt-yes-if-empty = Y/n
prompt-no-if-empty = y/N
prompt-yes-or-no = Please answer y or n.
prompt-again = Once more
prompt-not-the-same = These two were not the same.
prompt-ended = Ended.
prompt-pin = PIN of { $name }
prompt-new-pin = New PIN for { $name }
prompt-passphrase = Passphrase
prompt-passphrase-of = Passphrase for { $file }
prompt-password-of = Password for { $login }

# What is written where.
terminal-written = Written: { $file }
terminal-card = The card: { $file }
terminal-hand-over = Hand-over: { $file }
terminal-report-clips =
    { $count ->
        [one] It carries { $count } clip of a recorded voice, which is personal data; --without-sound leaves it out.
       *[other] It carries { $count } clips of a recorded voice, which are personal data; --without-sound leaves them out.
    }
terminal-display = Display: { $address }  (Ctrl-C ends it)
start-not-continued = The last job cannot be continued: { $why } Starting a new one.

# The pages.
serve-indexing = Bringing the index of the record up to date.
serve-review = Review: { $address }   (Ctrl-C ends it)
serve-all-boxes = Review of all boxes: { $address }   (Ctrl-C ends it)
serve-token = Anyone with this address can read the record; the token expires when this program ends.
serve-public-needs-store = --public is for the pages of a store; give --store as well.

# Trying out the ears.
hear-heard = heard
hear-nothing = (nothing that fits this step)
hear-confidence = confidence
hear-confidence-told = { $confidence } (wanted: { $least })
hear-means = means
hear-no-meaning = nothing
fetch-model = Model: { $folder }
fetch-use = To use it: companion start --ears vosk --model { $folder }
fetch-url-needs-sha = --url needs --sha256, from a source that you trust.

# The check of a record.
verify-broken = Broken.
verify-unbroken = Unbroken: every event and clip is as it was written.
verify-nothing-elsewhere = Not compared with anything kept elsewhere: a missing end or an older file would not show. Give --head, --seal, --root or --store.
verify-no-box-key = Not checked against the key of any box: another box's record would not show. Give --box-key.
verify-checked = Checked: { $sessions } sessions, { $events } events.
verify-checked-clips = Checked: { $sessions } sessions, { $events } events, { $clips } clips.
verify-no-box = Not signed by a box: it was written by a version from before boxes had keys.
verify-marks = Marks { $first } to { $last } are signed by the box { $box }.
verify-found =
    { $count ->
        [one] { $count } session was in the record before the box first wrote to it, so the box did not write it: { $names }.
       *[other] { $count } sessions were in the record before the box first wrote to it, so the box did not write them: { $names }.
    }
verify-signed =
    { $count ->
        [one] Signed once: { $worth }.
       *[other] Signed { $count } times: { $worth }.
    }
verify-wrong-pin =
    { $count ->
        [one] A wrong PIN was given once for { $name }.
       *[other] A wrong PIN was given { $count } times for { $name }.
    }
verify-unvouched = Nobody vouched for { $name } ({ $role }), enrolled { $day }.
verify-store = The store knows the box { $box } up to mark { $mark }.
verify-store-taken = The store knows the box { $box } up to mark { $mark }, taken { $when } UTC by its own clock.
verify-store-waiting =
    { $count ->
        [one] { $count } event has not been sent yet.
       *[other] { $count } events have not been sent yet.
    }
worth-before-keys = claims a PIN from before there were keys, which cannot be checked
worth-name-replaced = a name in it was replaced: what signed it cannot be checked here any more
worth-unknown-key = signed with the key { $key }, which is enrolled for nobody
worth-signed = signed with the key of { $name }, { $enrolled }
enrolled = enrolled { $day }, { $vouched }
vouched-by = vouched for by { $name }
vouched-nobody = vouched for by nobody
left-over-in = Left over in { $folder }: { $told }.
left-over-cars =
    { $count ->
        [one] Left over in { $folder }: { $count } file that no visit keeps.
       *[other] Left over in { $folder }: { $count } files that no visit keeps.
    }
left-over-clips =
    { $count ->
        [one] { $count } clip that no job keeps
       *[other] { $count } clips that no job keeps
    }
left-over-remnants =
    { $count ->
        [one] { $count } remnant of a half-written clip
       *[other] { $count } remnants of half-written clips
    }
left-over-others =
    { $count ->
        [one] { $count } thing that is not a clip
       *[other] { $count } things that are not clips
    }

# Seals, copies, exports.
seal-proof-needs-out = --proof-of needs --out, the file to write the proof to.
sealed =
    { $count ->
        [one] Sealed { $when }: the head of { $count } session.
       *[other] Sealed { $when }: the heads of { $count } sessions.
    }
seal-root = Root
seal-phrase = Phrase
seal-written = Written { $file }: keep it away from the record.
copied = Copied and verified: { $sessions } jobs, { $events } events, { $clips } clips{ $there ->
        [0] {""}
       *[other] {" "}({ $there } were already there)
    }: { $file }
export-not-printed = Parquet cannot be printed; give --out.
export-written =
    { $count ->
        [one] { $count } line: { $file }
       *[other] { $count } lines: { $file }
    }

# Sign-offs, corrections, people, keys, clips.
sign-ended = Session { $session } ended: { $result }.
sign-ended-why = Session { $session } ended: { $result } ({ $why }).
sign-before = { $name } has already signed this job off: event { $event }.
sign-with-key = with their key
signed = Signed off: session { $session }, events 1 to { $last }, by { $name } ({ $proven }).
sign-head = The head is now { $hash }
corrected = Added to session { $session }: event { $event } ({ $kind }) is corrected by { $name }.
people-added = { $name } ({ $role }) can sign off now, { $vouched }.
people-other-pin = { $name } ({ $role }) has a new PIN now.
people-removed = { $name } can no longer sign off.
people-nobody = Nobody has a PIN in this record. To give one: companion people add NAME --role supervisor
people-no-key = no key yet: it is made when they next give their PIN
key-made = Key: { $file }
key-public = Public key: { $key }, in { $file }
clips-really =
    { $days ->
        [one] Permanently delete the sound of jobs older than { $days } day?
       *[other] Permanently delete the sound of jobs older than { $days } days?
    }
clips-of-job =
    { $count ->
        [one] { $session }: { $count } clip deleted
       *[other] { $session }: { $count } clips deleted
    }
clips-gone =
    { $jobs ->
        [one] { $clips } clips of { $jobs } job deleted.
       *[other] { $clips } clips of { $jobs } jobs deleted.
    }
clips-left-over-gone = Left over by power cuts and deleted: { $told }.

# Visits.
car-order = Order
car-plate = Plate
car-vin = VIN
car-odometer_km = Odometer, km
car-complaint = Complaint
car-vehicle = Vehicle
visit-opened = Visit { $visit }. Jobs on this car: companion start --visit { $visit }
visit-personal = Order, plate, VIN and complaint are personal data: they are kept beside the record, and 'companion visit forget' deletes them after the time given in the settings.
visit-to-be-set = To be set: { $sensors }.
visit-left-sensors = Still to be set: { $sensors }.
visit-left-undone = NOT done on this car yet: { $undone }. It has to be done before the car leaves.
visit-left-command = To do it where no sensor follows: companion end-visit --visit { $visit }
at-the-end-faults_after = fault codes after
at-the-end-switching_off = lasers and ignition switched off
at-the-end-road_test = road test or dynamic part
visit-is-right = { $told }, is that right?
visit-once-more = Then once more.
visit-is-closed = Visit { $visit } is closed: the car has left. Open a new one.
visit-nothing-to-change = Nothing to change was given; wanted: --order, --plate or another option.
visit-changed = Visit { $visit } is changed; the record notes that it was.
visit-closed = Visit { $visit } is closed.
visit-codes-contradict = --none-after and --after contradict each other.
visit-no-code = No code was given; wanted: --before, --after or --none-after.
visit-codes-kept = The codes of visit { $visit } are kept.
visit-none = There are no visits.
visit-none-found = No visit has “{ $words }” in its order, plate or VIN.
visit-car-not-known = nothing known of the car
visit-nothing-known = Nothing is known of the car.
visit-state-open = open
visit-state-closed = closed
visit-shown = Visit { $visit }, { $state }, opened { $opened }
visit-before = Before: { $told }
visit-really-forget =
    { $days ->
        [one] Permanently delete what has been kept about cars for more than { $days } day?
       *[other] Permanently delete what has been kept about cars for more than { $days } days?
    }
visit-forgotten =
    { $count ->
        [one] What was known of { $count } car is deleted.
       *[other] What was known of { $count } cars is deleted.
    }

# Sending to the store.
ship-would-go = { $box }: { $events } events of { $jobs } jobs would go; the store has taken everything up to mark { $mark }.
ship-taken-in = From the store, for { $job }: added to the record.
ship-not-taken-in = From the store, for { $job }: not taken, { $why }.
shipped = { $box }: { $events } events sent, up to mark { $mark }.
ship-so-far = { $events } events sent

# The store, for its keeper.
store-up-to-date = The store is up to date.
store-box-added = { $box }, of { $site }: it logs in as { $login }; its password is in { $file }.
store-no-site = --site is for supervisors: the role { $kind } sees every site.
store-person-added = { $name } logs in as { $login }; the password is in { $file }.
store-pages-added = The pages log in as { $login }; the password is in { $file }.
store-password-set = { $login } can now log in at the pages, and signs there with the key { $key }.
store-indexed =
    { $count ->
        [one] { $count } job indexed.
       *[other] { $count } jobs indexed.
    }
store-box = { $site }, { $box }: seen { $seen }, mark { $mark }, version { $version }, outbox { $outbox }
store-box-retired = { $box } (retired)
store-box-clock = { $told }, nothing vouches for its clock
store-box-refused = NOT TAKEN: { $why }
store-box-files = published files: { $state }
store-sealed =
    { $count ->
        [one] Sealed { $when }: seal { $number }, { $count } box.
       *[other] Sealed { $when }: seal { $number }, { $count } boxes.
    }
store-checked = Checked: { $boxes } boxes, { $jobs } jobs, { $events } events, { $marks } marks.
store-not-in-order = Not in order.
store-in-order = In order: everything is as the boxes signed it.
store-nothing-elsewhere = Not compared with anything kept elsewhere: an older copy of the store would not show. Give --seal or --root.

# Voices that are learned.
voices-none = No voice has been learned for this record.
voices-nothing-learned = nothing learned yet
voices-version = version { $version }
voices-features-since = features kept since { $day }
voices-sound-since = sound kept since { $day }
voices-no-sound = no sound kept
voices-learned = Learned the voice of { $name }: version { $version }.
voices-really-forget = Delete everything that is kept of the voice of { $name }?
voices-forgotten = Forgotten: the voice of { $name } ({ $language }).
voices-exported =
    { $count ->
        [one] Wrote { $count } sound to { $folder }.
       *[other] Wrote { $count } sounds to { $folder }.
    }

# What came with sound at the store, and with people who are forgotten there.
verify-open-read = Open: others besides its owner can read { $file }: { $remedy }
verify-open-change = Open: anyone on this machine can change { $file }: { $remedy }
enrolled-redacted = enrolled { $day }, { $vouched }; a name in it was replaced, so it cannot be checked here
copied-not-in-it =
    { $count ->
        [one] Not in it: { $count } clip that is gone or not as it was recorded; 'companion verify' names it.
       *[other] Not in it: { $count } clips that are gone or not as they were recorded; 'companion verify' names them.
    }
ship-sound-sent = { $clips } clips of sound sent ({ $size } MB).
ship-sound-would-go = { $clips } clips of sound ({ $size } MB) would go.
ship-sound-stays = No sound would go; with --sound, or the setting ship_sound: { $clips } clips of sound ({ $size } MB).
store-redacted =
    { $count ->
        [one] In { $count } event names were replaced: its place in the chain is proven, but for what it now says there is only this store's word.
       *[other] In { $count } events names were replaced: their places in the chain are proven, but for what they now say there is only this store's word.
    }
store-forgotten = { $pseudonym } in { $events } events of { $jobs } jobs, { $comments } comments.
store-forgotten-left = LEFT: { $what }
store-forgotten-for-good = The store no longer knows who { $pseudonym } is.
store-exported = { $folder }: { $jobs } jobs, { $events } events, { $clips } clips of sound.
store-no-days = DAYS is a whole number from 1 upwards, or forever.
store-kept = Kept: { $told }.
store-kept-days =
    { $days ->
        [one] { $kind } { $days } day
       *[other] { $kind } { $days } days
    }
store-kept-for-good = { $kind } for good
store-let-go = Deleted: { $clips } clips of sound, { $listened } lines about who listened, { $sessions } sessions, { $names } names of pseudonyms.
store-person-removed = { $login } can no longer log in.
visit-ears-for-ask = --ears needs --ask: nothing is spelled unless it is asked for.
practise-no-stage = --stage { $stage }: the job has { $count } stages; 'companion files' lists them.
ship-already = This record is being sent at the moment; nothing else was done.
ship-files-taken = Published files, version { $version }: taken; jobs begin with them.
ship-files-wait = Published files, version { $version }: they are taken when this job is over.
ship-files-refused = Published files, version { $version }, REFUSED: { $why }
clips-of-voices-gone =
    { $count ->
        [one] { $count } sound of learned voices deleted.
       *[other] { $count } sounds of learned voices deleted.
    }

enrolled-of-store = of the store, { $enrolled }
people-store-key-removed = { $name } can no longer sign off from the store.
people-asks-to-sign = { $name } asks to sign here ({ $role }) with the key { $key }.
people-store-key-known = What { $name } signs at the store can now be proven here; { $by } vouched for it.
people-declined = { $name } will be told by the next 'companion ship'.
people-is-asking = { $name } asks to sign from the store: 'companion people accept'
ship-key-known = The key of { $name } is known here, and the store was told.
ship-key-declined = The key of { $name } was declined: { $why }.
ship-key-asked = { $name } asks to sign at this box from the store, with the key { $key }. A supervisor says: companion people accept "{ $name }", or companion people decline "{ $name }".
# pragma: allowlist nextline secret
publish-password = Your password for the pages
published = Version { $version }, { $files } files, signed by { $name }, for { $boxes }. The page Boxes shows which boxes have taken it.
