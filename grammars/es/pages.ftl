# Las páginas en un navegador: `companion review serve`. Not checked by a native speaker.

pages-title = { $title } · revisión
pages-of-the-record = Revisión del registro
skip-to-the-content = Ir al contenido
bar-pages = Páginas
page-sessions = Sesiones
page-search = Buscar
page-statistics = Estadística
page-repeats = Lecturas, oído y tiempo
statistics-of-statistics = Deriva
statistics-of-repeats = Lecturas, oído y tiempo
page-session = Sesión
page-compare = Comparar
page-not-shown = No se muestra
page-not-here = No está aquí
no-such-page = No existe esa página.
no-such-session = Aquí no hay ninguna sesión «{ $session }».
all-sessions = Todas las sesiones
search-the-record = Buscar en el registro
words-to-search-for = Palabras que buscar
words-or-a-number = Palabras, matrícula
not-named = sin nombre
and-more = y { $count } más
scale-and-way = { $unit }; +: { $way }

pages-of-the-list = Páginas de la lista
pages-first = Primera
pages-last = Última
pages-before = ← Página { $number }
pages-after = Página { $number } →
pages-here = Página { $number }
pages-here-of = Página { $number } de { $of }

filters = Filtros
filter-from = Desde
filter-until = Hasta
filter-any = cualquiera
filter-only = Solo
filter-all = todas
filter-sorted-by = Ordenar por
filter-show = Mostrar
filter-show-all = Mostrar todas
column-technician = Técnico
column-vehicle = Vehículo
column-bay = Puesto
column-result = Resultado
column-opened = Abierta
column-stood-out = Llamó la atención
column-signed = Firmada
no-session-fits = No hay ninguna sesión que encaje.
sessions-many = Más de 10 000 sesiones, { $order }.
sessions-counted =
    { $count ->
        [one] { $count } sesión, { $order }.
       *[other] { $count } sesiones, { $order }.
    }
sorted-by = por { $order }
order-newest = las más nuevas primero
order-oldest = las más antiguas primero
order-stood_out = lo que más llamó la atención
order-not_understood = lo menos entendido
order-technician = técnico
order-vehicle = vehículo
order-bay = puesto
order-result = resultado
only-unsigned = terminadas sin firmar
only-signed = firmadas
only-stood_out = algo llamó la atención
only-no_rehearsal = sin ensayos
only-rehearsal = solo ensayos
choose-to-compare = Elegir para comparar
compare-the-session-of = Comparar la sesión de { $when }
compare-those-chosen = Comparar las elegidas
compare-how-many = de dos a seis a la vez
signed-yes = sí
signed-no = no
list-in-stage = en { $stage }
list-before-the-first-stage = antes de la primera etapa
list-damaged = { $count } { $count ->
        [one] evento dañado
       *[other] eventos dañados
    }
list-unlikely = { $count } { $count ->
        [one] lectura improbable
       *[other] lecturas improbables
    }
list-odd-moves = { $count } { $count ->
        [one] movimiento distinto de lo previsto
       *[other] movimientos distintos de lo previsto
    }
list-taken-back = retirado: { $count }
list-notes = { $count } { $count ->
        [one] nota
       *[other] notas
    }
list-not-understood = sin entender: { $count }
list-breaks = { $count } { $count ->
        [one] interrupción
       *[other] interrupciones
    }
list-corrections = { $count } { $count ->
        [one] corrección
       *[other] correcciones
    }
list-clock = reloj sin avalar
list-rehearsal = ensayo
list-example = ficheros de ejemplo

search-words = Palabras
search-where = Dónde
whose-anywhere = en cualquier sitio
whose-said = dicho por el acompañante
whose-heard = oído del técnico
whose-noted = guardado: notas, lecturas, respuestas
filter-car = Orden, matrícula o VIN
visit-named = visita { $visit }
jobs-of-visit = Los trabajos de la visita { $visit }: un coche con una orden.
found-visits =
    { $count ->
        [one] Un coche coincide (orden, matrícula o VIN)
       *[other] Los coches de { $count } visitas coinciden (orden, matrícula o VIN)
    }
all-their-jobs = Todos los trabajos de estos coches
search-note = Todas las palabras tienen que estar en el mismo evento. Las "palabras entre comillas" van seguidas; una palabra que termina en * puede continuar. Un número se encuentra también como se dijo: 806 encuentra «{ $said }».
nothing-found = No se encontró nada.
found-sessions =
    { $count ->
        [one] { $count } sesión.
       *[other] { $count } sesiones, las más nuevas primero.
    }
found-sessions-on-page =
    { $count ->
        [one] { $count } sesión en la página { $page }.
       *[other] { $count } sesiones en la página { $page }, las más nuevas primero.
    }
session-of = Sesión de { $when }
and-more-in-this-session = y más en esta sesión
kind-said = dicho
kind-heard = oído
kind-refused = rechazado
kind-noted = nota
kind-opened = abierto
kind-accepted = tomado
kind-answered = respondido
kind-decided = decidido
kind-aim_decided = orientación decidida
kind-corrected = corregido
kind-stopped = parado
kind-doubted = improbable
kind-not_allowed = no permitido
kind-misfit = no concuerdan
kind-amended = enmendado
kind-signed_off = firmado

compare-choose = Elige de dos a { $most } sesiones en la lista para comparar; se eligieron { $chosen }.
sessions-compared = Sesiones comparadas
sessions-side-by-side = Sesiones lado a lado
differs = distinto:
compare-note = ≠ marca lo que difiere; de valores medidos, lo que está más separado que el doble de la incertidumbre de la diferencia. Del soporte y del puesto está aquí el primer valor de cada sesión: como se hallaron, antes de mover nada. Barras: dos incertidumbres típicas a cada lado.
compare-as-left = { $title }, como se dejó
came-back = Este coche ya estuvo aquí: este trabajo junto al de su última visita
compare-screws = Tornillos, ronda a ronda
compare-answers = Respuestas tomadas, negadas, rechazadas
compare-events = Eventos
compare-lasted = Duró
compare-then = { $before }; luego { $turns }
compare-before = { $title }, antes
compare-last = { $title }, última
compare-as-found = { $title }, como se halló

drift-title = ¿Está variando un suelo o un soporte?
column-floor = Suelo
column-stand = Soporte
column-sessions = Sesiones
column-latest = Última
changed-on = cambió el { $day }
state-steady = estable
state-too-few = muy pocas
drift-changed = Cambiaron { $changed } de { $of } suelos y soportes.
drift-too-few = Hay muy pocas sesiones para saberlo; hacen falta { $least } de un puesto.
drift-steady = No cambió ningún suelo ni ningún soporte.
drift-unknown =
    { $unknown ->
        [one] Para un suelo o soporte hay muy pocas sesiones para saberlo.
       *[other] Para { $unknown } suelos y soportes hay muy pocas sesiones para saberlo.
    }
drift-note = Un cambio es un motivo para medir el suelo o revisar el soporte, no un veredicto. En un taller donde nada se mueve, esta página da algo por cambiado como mucho { $percent } veces de cada cien, todos los gráficos de todos los puestos juntos.
drift-nothing = Todavía no se midió en ninguna sesión nada que debiera seguir igual.
charts-title = Un puesto en detalle
whose-sessions = De quién son las sesiones
bay-and-its-stand = Puesto y su soporte
anybody = cualquiera
sessions-in-bay = { $count ->
        [one] { $count } sesión en { $bay }.
       *[other] { $count } sesiones en { $bay }.
    }
sessions-in-bay-by = { $count ->
        [one] { $count } sesión en { $bay } de { $technician }.
       *[other] { $count } sesiones en { $bay } de { $technician }.
    }
charts-note = Cada punto es el primer valor de una sesión: como se halló, antes de corregir nada. Un punto lleva a su trabajo. La línea es la mediana; donde un gráfico cambió hay una de antes y otra de después, y los puntos desde entonces son cuadrados.
charts-nothing = En este puesto no se midió nada que debiera seguir igual.
chart-told = { $count } sesiones. { $told }
chart-on = el { $day }
chart-between = entre el { $before } y el { $after }
chart-changed = Cambió { $when }: la mediana pasó de { $before } a { $after }.
chart-steady = Estable: mediana { $median }.
chart-too-few = Muy pocas para saberlo: { $count } sesiones, hacen falta { $least }.
chart-earlier = No se muestran { $count } sesiones anteriores.
values-and-jobs = Valores y trabajos
values-and-jobs-of = Valores y trabajos de { $title }
column-job-of = Trabajo de
repeats-title = ¿Se repiten las lecturas?
repeats-note = Lo que debería seguir igual en un puesto, leído otra vez de sesión en sesión. Dentro: cómo se dispersan las lecturas de una persona (o de un soporte). Entre: cuánto difieren personas (o soportes) más allá de esa dispersión. Análisis de varianza de un factor con efectos aleatorios, por momentos; desviaciones típicas, en la unidad de la medida. La placa se monta de nuevo cada vez, así que su dispersión incluye el montaje.
repeats-by-technician = Por técnico, en este puesto
repeats-by-bay = Por puesto y su soporte
column-measure = Medida
column-within = Dentro
column-between = Entre
column-between-share = Entre, de toda la varianza
column-groups = Grupos (sesiones)
repeats-needed = Para esto hacen falta dos o más, y uno con dos sesiones o más.
spread-note = Marca central: media. Barra: dos desviaciones típicas de una lectura a cada lado.
spread-told = { $name }: media { $mean }
hearing-title = ¿Con qué frecuencia se oye mal, y con cuánto ruido?
hearing-by-noise = Audición según el ruido
column-background = Fondo
column-spoken-answers = Respuestas habladas
hearing-refused = Rechazadas
hearing-denied = Negadas al repetirlas
percent-of-answers = % de respuestas
share-of = { $share } de { $of }
noise-level-not-kept = nivel no guardado
noise-from-to = de { $low } a { $high } dBFS
hearing-note = Barras: intervalos de puntuación del 95 % (Wilson 1927). Negada: se tomó algo, se repitió, y el técnico dijo no o dio otro número; una lectura equivocada de la escala también cuenta. Las respuestas tecleadas y el silencio no se incluyen.
nothing-spoken = En estas sesiones no se dio ninguna respuesta hablada.
time-title = ¿Adónde se va el día?
times-title = Minutos por etapa, las más largas primero
times-unit = minutos
time-note = Minutos que una sesión pasa en cada etapa: la marca central es la mediana, la barra abarca la mitad central de las sesiones; el porcentaje es la parte de la etapa en todo el tiempo. Sin contar interrupciones.
no-stage-begun = En estas sesiones no se empezó ninguna etapa.
