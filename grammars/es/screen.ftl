# The screen in the bay. Not checked by a native speaker.

screen-title = Pantalla del puesto
screen-companion = Acompañante del puesto
screen-lost = Sin conexión. Lo que se muestra aquí puede estar anticuado.
screen-needs-script = Esta página necesita su script para seguir el trabajo.
screen-stages = Etapas del trabajo
screen-stage-done = { $title }, hecha
screen-stage-of = de { $of } · { $title }
screen-all-stages = Las { $of } etapas
screen-off = El acompañante está apagado. Nadie escucha.
screen-noisy = Mucho ruido. Compruébame aquí, o escribe.
screen-store-refused = El almacén no acepta los trabajos de este equipo: { $what ->
        [older] este registro termina antes de lo que él tiene
        [fork] este registro es otro que antes
        [gap] falta algo
        [changed] algo fue cambiado
        [signature] la firma no es válida
        [sound] una grabación no es como debe
        [clock] el reloj se contradice
       *[other] no los puede leer
    }. Avisa a tu supervisor.
screen-store-files = Se rechazaron los ficheros publicados; se usan los de antes. Avisa a tu supervisor.
screen-example = Ficheros de ejemplo, no valores de un fabricante
screen-sound-stays = Nada avala la fecha: no se borra ninguna voz grabada
screen-car-stays = Nada avala la fecha: lo que se sabe del coche no caduca
screen-what-to-do = Qué hacer ahora
screen-cautions = Precauciones
screen-picture = Dibujo
screen-last-answer = Última respuesta
screen-say = di
screen-heard = oído
screen-voice-check = Comprobación de voz

screen-mark-no_job = Sin trabajo
screen-mark-asking = Lee y di
screen-mark-doing = Haz esto
screen-mark-read_back = ¿Es correcto?
screen-mark-note = Tu nota
screen-mark-paused = Esperando
screen-mark-stopped = Parado
screen-mark-ending = ¿Terminar el trabajo?
screen-mark-resuming = De vuelta
screen-mark-over = Terminado

screen-answer-said_back = Oído y repetido. No se toma antes de tu sí.
screen-answer-taken = Tomado
screen-answer-not_taken = No tomado
screen-answer-unlikely = Oído, pero improbable. No tomado.
screen-answer-not_understood = No entendido
screen-answer-nothing = No se oyó nada
screen-answer-heard = Oído

screen-reply-done = hecho
screen-reply-yes-or-no = sí o no
screen-if-yes = Si está bien: { $next }
screen-reply-carry_on = continuar
screen-reply-end_job = terminar el trabajo
screen-reply-both = { $first }, o { $second }
screen-reply-number = un número en { $unit }
screen-reply-number-with-way = un número en { $unit }, { LIST($ways, last: "or") }
screen-unit-deg = grados
screen-unit-mm = mm
screen-unit-db = dB
screen-unit-volt = voltios
screen-unit-celsius = °C
screen-unit-mm_per_m = mm por m
screen-unit-bar = bar
screen-unit-turns = vueltas

screen-no-job = No hay ningún trabajo en marcha.
screen-record-unreadable = No se puede leer el registro.
screen-end-inside = Dentro.
screen-end-inside-means = Dentro de los límites introducidos, con las incertidumbres introducidas. No dice que la asistencia al conductor sea segura.
screen-end-tool_inside = El equipo de diagnosis dice dentro.
screen-end-tool_inside-means = El acompañante no midió la orientación.
screen-end-not_aimed = Hecho.
screen-end-not_aimed-means = En este trabajo no se orientó nada.
screen-end-stopped = Terminado sin resultado.
screen-end-stopped-means = El registro se conserva.

picture-not-to-scale = { $seen }. No está a escala.
picture-move = El movimiento que hay que hacer: { $figure }
picture-figure =
    { $amount } { $end ->
        [level] extremo izquierdo{" "}
        [plumb] borde superior{" "}
       *[none] {""}
    }{ $way ->
        [left] a la izquierda
        [right] a la derecha
        [towards] hacia el coche
        [away] más lejos del coche
        [up] hacia arriba
       *[down] hacia abajo
    }
picture-from-above = Visto desde arriba, el frente del coche hacia arriba
picture-from-the-side = Visto desde el lado derecho del coche
picture-from-the-car = Visto desde el coche
picture-left = izquierda
picture-right = derecha
picture-left-end = extremo izquierdo
picture-right-end = extremo derecho
picture-in-practice = Práctica: un instrumento simulado
picture-instrument = { $title }: lo que marca el instrumento simulado
picture-in-this-bay = En este puesto: { $title }, { $answer }
picture-aim = La orientación dentro de sus límites
picture-as-the-driver-sees = Como lo ve el conductor
picture-sideways = lateral { $amount }
picture-height = en altura { $amount }
picture-limits = límites: { $yaw } en lateral, { $elevation } en altura, a cada lado
picture-screw = El tornillo que hay que girar
picture-screws = Tornillos, ronda { $round }
picture-screw-now = { $screw }: { $turns } ({ $note })
picture-facing = Visto mirando la cabeza del tornillo desde delante.
picture-facing-short = Mirando la cabeza del tornillo
picture-note-done = ✓ hecho
picture-note-now = ahora
picture-note-to_do = después
