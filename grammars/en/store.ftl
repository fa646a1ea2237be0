# The pages over a store of many boxes: `companion review serve --store`.

pages-of-the-store = Review of all boxes
page-fleet = Boxes
page-worklist = To do
page-login = Log in
page-write = Sign, correct, comment
login-name = Login
# pragma: allowlist nextline secret
login-password = Password
log-in = Log in
log-out = Log out
of-the-store = What the store knows of this job
job-of-box = { $site }, { $box }.
back-to-the-job = ← Back to the job
sent-signed_off = Sign-off
sent-amended = Correction
sent-waiting = { $what } by { $by }, { $when }: on its way to the box.
sent-taken = { $what } by { $by }, { $when }: in the box's record.
sent-refused = { $what } by { $by }, { $when }: the box did not take it.
write-sign = Sign off
write-sign-note = You stand for the job as it is now. It is signed with your own key, which your password unlocks, and becomes part of the box's record when the box is next in touch. There it is proven to be yours only where the box knows your key.
write-remark = Remark
write-correct = Correct
write-correct-note = The event itself is left unchanged; your correction is added to the box's record.
write-event = Number of the wrong event
write-now = What it should say
write-why = Why
write-comment = Comment
write-comment-note = A comment stays here and does not go to the box. It cannot be taken back.
write-not-you = Supervisors sign, correct and comment.
fleet-told =
    { $count ->
        [one] { $count } box; { $troubled } to look after.
       *[other] { $count } boxes; { $troubled } to look after.
    }
fleet-site = Site
fleet-box = Box
fleet-state = State
fleet-last-seen = Last seen
fleet-outbox = Events not sent
fleet-disk = Disk free
fleet-clock = Clock
fleet-version = Version
fleet-well = in touch
fleet-look = look after it
fleet-refused = NOT TAKEN
fleet-retired = retired
fleet-never = never
fleet-silent = nothing for two days or more
fleet-little = little room
fleet-not-told = not told
fleet-not-vouched = nothing vouches for it
fleet-off = { $seconds } s off
fleet-right = right
fleet-waits =
    { $count ->
        [one] { $count } sign-off or correction waits for it
       *[other] { $count } sign-offs or corrections wait for it
    }
fleet-ears = Ears
fleet-ears-work = { $ears }: { $work } s of work for 1 s of speech
fleet-check-wrong = its check found wrong: { $what }
fleet-files = Published files
fleet-files-none = none
fleet-files-taken = version { $version }
fleet-files-wait = version { $version } waits for it
fleet-files-refused = version { $version } REFUSED
fleet-files-before = it works with version { $version }
trouble-refused = what it sent was not taken
trouble-silent = silent for two days or more
trouble-files = it refused the published files
trouble-wrong = its own check found something wrong
trouble-little = little room on its disk
trouble-clock = its clock is wrong
trouble-slow = its ears are slower than speech
fleet-note = What a box says of itself is as of when it was last seen. NOT TAKEN: what it sent contradicts what the store took before; nothing of it went in.
work-boxes = Boxes to look after
work-changed = Floors and stands that changed
work-broken_off = Broken off
work-unsigned = Not signed off
work-stood_out = Something stood out, and nobody signed
work-many = More than { $count }.
work-counted =
    { $count ->
        [one] { $count } job.
       *[other] { $count } jobs.
    }
work-first = The newest { $lines }:
work-none = None.
work-note = Rehearsals are left out.
page-listened = Who listened to you
listened-told =
    { $count ->
        [0] Nobody listened to a recording of your voice here.
        [one] { $count } time somebody listened to a recording of your voice here.
       *[other] { $count } times somebody listened to a recording of your voice here.
    }
listened-when = When
listened-who = Who
listened-job = Job
listened-event = Event
listened-note = Sound of jobs under your name. A report saved as a file with its sound counts as listened to, clip by clip. At most the latest { $most } are shown. Sound that a box kept and did not send is not heard here.
sound-not-sent = the sound was not sent to the store
names-replaced =
    { $count ->
        [one] In { $count } event of this job names were replaced. That it stands at its place as the box signed it is proven; what it says now is as the store tells it.
       *[other] In { $count } events of this job names were replaced. That they stand at their places as the box signed them is proven; what they say now is as the store tells it.
    }
page-key = Your key
key-own = You sign with the key
key-note = Anyone who looks at a box's record sees that a signature is yours only where the box knows this key. A supervisor with a PIN at the box vouches for it: tell them the key, they compare it.
key-known = known
key-not-known = not known
key-asked = asked { $when }; waits for a supervisor at the box
key-declined = not known:
key-ask = Ask a box
