# What the kinds of step say: advice, corrections, results. Not checked by a native speaker.

do-not-fit = Esas lecturas no concuerdan.
misfit = { do-not-fit } Las leemos otra vez.
keeps-misfitting = Siguen sin concordar. Comprueba de dónde se leen.
measured-again = Medido otra vez después del movimiento.

too-close-for =
    Demasiado justo para decidir. { $times ->
        [1] Léelo una vez más.
       *[other] Léelo { COUNT($times, gender: "feminine") } veces más.
    }
too-close-for-any = Demasiado justo, y leer más no lo resolvería.
too-close-sets =
    Demasiado justo para decidir. { $more ->
        [1] Otra serie debería
       *[other] { CAPITAL(COUNT($more, gender: "feminine")) } series más deberían
    } resolverlo.
too-close-for-sets = Demasiado justo para decidir, y más series apenas lo resolverían.

cannot-pass = { $title }: nada podría pasar. La incertidumbre es { $doubt }, se permiten { $allowed }. Avisa a tu supervisor.
wrong-way = Eso fue en la dirección equivocada.
wrong-way-at = { $title }: eso fue en la dirección equivocada.
suspected = { SENTENCE($what) } Probablemente mal leído: { LIST($names, last: "or") }.

# The stand.
stand-moves = { CAPITAL(COUNT($count)) } movimientos, uno tras otro.
stand-moves-disturb =
    { $count ->
        [1] El próximo movimiento altera
       *[other] Alteran
    } también { LIST($places) }: se { $disturbed ->
        [1] mide
       *[other] miden
    } otra vez.
place-turn = el giro
place-sideways = la posición lateral
place-distance = la distancia
place-height = la altura

shim = { CAPITAL($thickness) } debajo de { $spot }.

# The aim and its screws.
once-more-to-be-sure = Dentro. Una vez más, para estar seguros.
scatter-widened = Las lecturas se dispersan más de lo introducido. Amplío su incertidumbre.
lock-screws = Bloquea los tornillos sin girarlos, y pon las tapas.
# A quien ya lo oyó en este trabajo.
lock-screws-again = Bloquea los tornillos y pon las tapas.
sets-disagree = Las dos series no coinciden. Las medimos otra vez.
levels-do-not-fit = Los niveles no encajan con un solo haz
levels-misfit = Los niveles no encajan con un solo haz. Los leemos otra vez.
levels-keep-misfitting = Los niveles siguen sin encajar con un solo haz. Busca si refleja algo más, y comprueba la placa y sus muescas.
unsettled = Las lecturas no se asientan. Comprueba la placa, sus muescas y el equipo de diagnosis.
not-inside-yet = No está dentro.
set-interrupted = La serie se interrumpió. Sus niveles se leen de nuevo.
aim-to-correct = Aún no está dentro: { $yaw }, { $elevation }.
cannot-reach = Los tornillos no llegan. Lo mejor sería: { $yaw }, { $elevation }. Comprueba la fijación del radar.
turn-screw-back = { CAPITAL($screw) } otra vez, { $turns } atrás, { DIRECTION($sense) }.
turn-screw = { CAPITAL($screw) }, { DIRECTION($sense) }, { $turns }.
# To somebody who may have turned a part of it already.
turn-screw-from-before = { CAPITAL($screw) }, { DIRECTION($sense) }, { $turns } desde donde estaba antes.
the-screw = el { $screw }
unexplained-move = Alto. La orientación se movió de una forma que los tornillos no explican.
learned-anew = Dos veces seguidas contra lo que había aprendido de los tornillos. Vuelvo a lo que dice el fichero del montaje.
mount-doubted = Dos veces contra lo previsto. ¿Está al revés el fichero del montaje?
looks-as-if = Alto. Parece que { $what }.
looks-like-either = Alto. Parece que o bien { $first }, o bien { $second }.
slip-wrong-way =
    { LIST($screws) } { $count ->
        [1] fue en la dirección equivocada
       *[other] fueron en la dirección equivocada
    }
slip-wrong-screw = { $instead } se giró en lugar de { $screw }
slip-taken-for-each-other = { LIST($screws) } se confundieron entre sí
slip-not-turned =
    { LIST($screws) } no { $count ->
        [1] recibió todas sus vueltas
       *[other] recibieron todas sus vueltas
    }
slip-twice-as-far =
    { LIST($screws) } { $count ->
        [1] se giró
       *[other] se giraron
    } el doble de lo que dije
slip-half-as-far =
    { LIST($screws) } { $count ->
        [1] se giró
       *[other] se giraron
    } solo la mitad de lo que dije
slip-sides-swapped-before = izquierda y derecha se cambiaron en las lecturas de antes
slip-ends-swapped-before = arriba y abajo se cambiaron en las lecturas de antes
slip-as-planned = todo se giró como dije, y el montaje se movió de otra manera

clockwise-as-you-face-it = Sentido horario, mirando la cabeza del tornillo.

miss-at-mark = A { COUNT($metres) } metros apunta a su marca.
miss =
    A { COUNT($metres) } metros apunta { $sideways }.
# La pantalla lo dice entero.
what-inside-means = Dentro no quiere decir que la asistencia sea segura.
found-inside = Dentro de los límites introducidos, con las incertidumbres introducidas.
nothing-aimed = Eso es todo. En este trabajo no se ha orientado nada, y el registro lo dice.

# The way of a correction, by its name in the job file. "hacia el coche", "más lejos del
# coche": nothing that would have to agree with what is moved.
move-left = a la izquierda
move-right = a la derecha
move-up = hacia arriba
move-down = hacia abajo
move-in = hacia dentro
move-out = hacia fuera
move-towards = hacia el
move-away = más lejos
move-away_from = más lejos del
move-clockwise = en sentido horario
move-anticlockwise = en sentido antihorario

# Varios resultados juzgados juntos.
verdict-too-close = Demasiado cerca del límite para decidir.
verdict-sets-disagree = { $title }: las dos series no coinciden. Las medimos otra vez.

# The end of a visit. $left: titles of steps that are asked once for a car.
left-to-last-sensor = Con el último sensor: { LIST($left) }.
left-undone = Sin hacer todavía: { LIST($left) }.

# What earlier jobs found and still holds. $days: how long ago, by the calendar.
taken-over = Se mantiene de { $days ->
        [0] hoy
        [1] ayer
       *[other] hace { COUNT($days, gender: "masculine") } días
    }: { LIST($stages) }.
