# What the kinds of step say: advice, corrections, results. Not checked by a native speaker.

do-not-fit = Esas lecturas no concuerdan.
misfit = { do-not-fit } Las leemos otra vez.
keeps-misfitting = Esas lecturas siguen sin concordar. Comprueba de dónde se leen.
measured-again = Medido otra vez después del movimiento.

too-close-for =
    Demasiado justo para decidir. { $times ->
        [1] Con una lectura más
       *[other] Con { COUNT($times, gender: "feminine") } lecturas más
    }, en promedio, quedaría claro.
too-close-for-any = Demasiado justo para decidir, y más lecturas no lo aclararían.
too-close-sets =
    Demasiado justo para decidir. { $more ->
        [1] Otra serie debería
       *[other] { CAPITAL(COUNT($more, gender: "feminine")) } series más deberían
    } aclararlo.
too-close-for-sets = Demasiado justo para decidir, y más series apenas lo aclararían.

cannot-pass = { $title }: ninguna lectura podría pasar. La incertidumbre es { $doubt }, se permiten { $allowed }. Corrige la incertidumbre en el fichero, o lee en una escala más fina, y empieza de nuevo.
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
floor-level = El suelo está nivelado hacia delante.
floor-rises = El suelo sube { $slope } hacia delante. Se tiene en cuenta.
floor-falls = El suelo baja { $slope } hacia delante. Se tiene en cuenta.

# The aim and its screws.
once-more-to-be-sure = Dentro. Una vez más, para estar seguros.
scatter-widened = Las lecturas se dispersan más de lo introducido. Amplío su incertidumbre.
lock-screws = Bloquea los tornillos, como dice el fabricante, sin girarlos.
sets-disagree = Las dos series no coinciden. Las medimos otra vez.
levels-do-not-fit = Los niveles no encajan con un solo haz
levels-misfit = Los niveles no encajan con un solo haz. Los leemos otra vez.
levels-keep-misfitting = Los niveles siguen sin encajar con un solo haz. Busca qué refleja junto a la placa y comprueba la placa y sus topes.
unsettled = Las lecturas no se asientan. Comprueba la placa, sus topes y el equipo de diagnosis.
aim-to-correct = Aún no está dentro. De lado { $yaw }, en altura { $elevation }.
cannot-reach = Los tornillos no pueden llevar la orientación adentro. Lo mejor que podrían dejar es: de lado { $yaw }, en altura { $elevation }. Comprueba el soporte del radar y su fijación.
turn-screw = { CAPITAL($screw) }, { DIRECTION($sense) }, { $turns }.
the-screw = el { $screw }
unexplained-move = Alto. La orientación se movió de una forma que los tornillos no explican.
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
slip-wrong-amount = { LIST($screws) } no se giró tanto como dije
slip-as-planned = todo se giró como dije y el soporte del radar responde de otra manera

clockwise-as-you-face-it = El sentido horario es mirando la cabeza del tornillo desde delante.

miss-at-mark = A { $range } mira a su marca, con un margen de { $doubt }.
miss =
    A { $range } mira { SIZE($sideways) } { WAY($sideways) ->
        [left] a la izquierda
       *[right] a la derecha
    }, con un margen de { SIZE($doubt) }.
what-inside-means = Eso significa dentro de los límites introducidos, con las incertidumbres introducidas. No dice que la asistencia al conductor sea segura.
found-inside = Dentro. De lado { $yaw }, en altura { $elevation }.
nothing-aimed = Eso es todo. Este trabajo no ha orientado nada, y el registro lo dice.

# The way of a correction, by its name in the job file. "hacia el coche", "alejándolo del coche".
move-left = a la izquierda
move-right = a la derecha
move-up = hacia arriba
move-down = hacia abajo
move-in = hacia dentro
move-out = hacia fuera
move-towards = hacia el
move-away = alejándolo
move-away_from = alejándolo del
move-clockwise = en sentido horario
move-anticlockwise = en sentido antihorario
