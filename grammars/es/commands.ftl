# Lo que escriben las órdenes que se dan antes, al lado y después de un trabajo.
# Not checked by a native speaker.

prompt-yes = s sí si y yes
prompt-no = n no
prompt-yes-if-empty = S/n
prompt-no-if-empty = s/N
prompt-yes-or-no = Responde s o n.
prompt-again = Otra vez
prompt-not-the-same = No eran iguales.
prompt-ended = Terminado.
prompt-pin = PIN de { $name }
prompt-new-pin = PIN nuevo para { $name }
prompt-passphrase = Frase de paso
prompt-passphrase-of = Frase de paso de { $file }
prompt-password-of = Contraseña de { $login }

terminal-written = Escrito: { $file }
terminal-card = La tarjeta: { $file }
terminal-hand-over = Hoja de entrega: { $file }
terminal-report-clips =
    { $count ->
        [one] Lleva { $count } fragmento de una voz grabada, que es un dato personal; con --without-sound se deja fuera.
       *[other] Lleva { $count } fragmentos de una voz grabada, que son datos personales; con --without-sound se dejan fuera.
    }
terminal-display = Pantalla: { $address }  (Ctrl-C la termina)
start-not-continued = El último trabajo no se puede continuar: { $why } Empieza uno nuevo.

serve-indexing = Se pone al día el índice del registro.
serve-review = Revisión: { $address }   (Ctrl-C la termina)
serve-all-boxes = Revisión de todos los equipos: { $address }   (Ctrl-C la termina)
serve-token = Quien tenga esta dirección puede leer el registro; la clave que lleva caduca cuando termina este programa.
serve-public-needs-store = --public es para las páginas de un almacén; da también --store.

hear-heard = oído
hear-nothing = (nada que encaje en este paso)
hear-confidence = seguridad
hear-confidence-told = { $confidence } (se pide: { $least })
hear-means = significa
hear-no-meaning = nada
fetch-model = Modelo: { $folder }
fetch-use = Para usarlo: companion start --ears vosk --model { $folder }
fetch-url-needs-sha = --url necesita --sha256, de una fuente de la que te fíes.

verify-broken = Roto.
verify-unbroken = Intacto: cada evento y cada fragmento están como se escribieron.
verify-nothing-elsewhere = No se comparó con nada guardado en otro sitio: no se notaría que falte el final ni que sea un fichero más antiguo. Da --head, --seal, --root o --store.
verify-no-box-key = No se comparó con la clave de ningún equipo: no se notaría que sea el registro de otro. Da --box-key.
verify-checked = Comprobado: { $sessions } sesiones, { $events } eventos.
verify-checked-clips = Comprobado: { $sessions } sesiones, { $events } eventos, { $clips } fragmentos de sonido.
verify-no-box = No lo firmó ningún equipo: lo escribió una versión de antes de que los equipos tuvieran clave.
verify-marks = Las marcas { $first } a { $last } las firmó el equipo { $box }.
verify-found =
    { $count ->
        [one] { $count } sesión ya estaba cuando llegó un equipo al registro, y no la escribió él: { $names }.
       *[other] { $count } sesiones ya estaban cuando llegó un equipo al registro, y no las escribió él: { $names }.
    }
verify-signed =
    { $count ->
        [one] Firmado una vez: { $worth }.
       *[other] Firmado { $count } veces: { $worth }.
    }
verify-wrong-pin =
    { $count ->
        [one] Se dio una vez un PIN equivocado para { $name }.
       *[other] Se dio { $count } veces un PIN equivocado para { $name }.
    }
verify-unvouched = Nadie respondió por { $name } ({ $role }), en la lista desde el { $day }.
verify-store = El almacén conoce el equipo { $box } hasta la marca { $mark }.
verify-store-taken = El almacén conoce el equipo { $box } hasta la marca { $mark }, recibida el { $when } UTC según su propio reloj.
verify-store-waiting =
    { $count ->
        [one] { $count } evento no se ha enviado todavía.
       *[other] { $count } eventos no se han enviado todavía.
    }
worth-before-keys = dice llevar un PIN, de antes de que hubiera claves: no se puede comprobar
worth-name-replaced = se sustituyó un nombre: lo que lo firmó ya no se puede comprobar aquí
worth-unknown-key = firmado con la clave { $key }, que no es de nadie de la lista
worth-signed = firmado con la clave de { $name }, { $enrolled }
enrolled = en la lista desde el { $day }, { $vouched }
vouched-by = respondió por esta persona { $name }
vouched-nobody = nadie respondió por esta persona
left-over-in = Quedó en { $folder }: { $told }.
left-over-cars =
    { $count ->
        [one] Quedó en { $folder }: { $count } fichero que ninguna visita guarda.
       *[other] Quedaron en { $folder }: { $count } ficheros que ninguna visita guarda.
    }
left-over-clips =
    { $count ->
        [one] { $count } fragmento que ningún trabajo guarda
       *[other] { $count } fragmentos que ningún trabajo guarda
    }
left-over-remnants =
    { $count ->
        [one] { $count } resto de un fragmento a medio escribir
       *[other] { $count } restos de fragmentos a medio escribir
    }
left-over-others =
    { $count ->
        [one] { $count } cosa que no es un fragmento
       *[other] { $count } cosas que no son fragmentos
    }

seal-proof-needs-out = --proof-of necesita --out, el fichero en el que se escribe la prueba.
sealed =
    { $count ->
        [one] Sellado { $when }: el hash final de { $count } sesión.
       *[other] Sellado { $when }: los hashes finales de { $count } sesiones.
    }
seal-root = Raíz
seal-phrase = Frase
seal-written = Escrito { $file }: guárdalo lejos del registro.
copied = Copiado y comprobado: { $sessions } trabajos, { $events } eventos, { $clips } fragmentos{ $there ->
        [0] {""}
       *[other] {" "}({ $there } ya estaban)
    }: { $file }
export-not-printed = Parquet no se puede escribir en el terminal; da --out.
export-written =
    { $count ->
        [one] { $count } línea: { $file }
       *[other] { $count } líneas: { $file }
    }

sign-ended = La sesión { $session } terminó: { $result }.
sign-ended-why = La sesión { $session } terminó: { $result } ({ $why }).
sign-before = { $name } ya firmó este trabajo: evento { $event }.
sign-with-key = con su clave
signed = Firmado: sesión { $session }, eventos 1 a { $last }, por { $name } ({ $proven }).
sign-head = El hash final es ahora { $hash }
corrected = Añadido a la sesión { $session }: { $name } corrige el evento { $event } ({ $kind }).
people-added = { $name } ({ $role }) ya puede firmar, { $vouched }.
people-other-pin = { $name } ({ $role }) tiene ahora otro PIN.
people-removed = { $name } ya no puede firmar.
people-nobody = Nadie tiene PIN en este registro. Para darlo: companion people add NOMBRE --role supervisor
people-no-key = todavía sin clave: se crea la próxima vez que dé su PIN
key-made = Clave: { $file }
key-public = Clave pública: { $key }, en { $file }
clips-really =
    { $days ->
        [one] ¿Borrar para siempre el sonido de los trabajos de hace más de { $days } día?
       *[other] ¿Borrar para siempre el sonido de los trabajos de hace más de { $days } días?
    }
clips-of-job =
    { $count ->
        [one] { $session }: { $count } fragmento borrado
       *[other] { $session }: { $count } fragmentos borrados
    }
clips-gone =
    { $jobs ->
        [one] Fragmentos borrados: { $clips }, de { $jobs } trabajo.
       *[other] Fragmentos borrados: { $clips }, de { $jobs } trabajos.
    }
clips-left-over-gone = Quedó de cortes de corriente y se borró: { $told }.

car-order = Orden
car-plate = Matrícula
car-vin = VIN
car-odometer_km = Cuentakilómetros, km
car-complaint = Motivo de la visita
car-vehicle = Vehículo
visit-opened = Visita { $visit }. Trabajos en este coche: companion start --visit { $visit }
visit-personal = Orden, matrícula, VIN y motivo de la visita son datos personales: están al lado del registro, y 'companion visit forget' los borra pasado el tiempo que dicen los ajustes.
visit-to-be-set = Por ajustar: { $sensors }.
visit-left-sensors = Falta por ajustar: { $sensors }.
visit-left-undone = NO hecho todavía en este coche: { $undone }. Hay que hacerlo antes de que salga.
visit-left-command = Para hacerlo si no sigue ningún sensor: companion end-visit --visit { $visit }
at-the-end-faults_after = averías después
at-the-end-switching_off = láseres y contacto apagados
at-the-end-road_test = prueba en carretera o parte dinámica
visit-is-right = { $told }, ¿es correcto?
visit-once-more = Entonces, otra vez.
visit-is-closed = La visita { $visit } está cerrada: el coche se fue. Abre una nueva.
visit-nothing-to-change = No se dio nada que cambiar; se pide: --order, --plate u otra.
visit-changed = La visita { $visit } está cambiada; el registro anota que se cambió.
visit-closed = La visita { $visit } está cerrada.
visit-codes-contradict = --none-after y --after se contradicen.
visit-no-code = No se dio ningún código; se pide: --before, --after o --none-after.
visit-codes-kept = Los códigos de la visita { $visit } están guardados.
visit-none = No hay ninguna visita.
visit-none-found = Ninguna visita tiene «{ $words }» en su orden, matrícula o VIN.
visit-car-not-known = no se sabe nada del coche
visit-nothing-known = No se sabe nada del coche.
visit-state-open = abierta
visit-state-closed = cerrada
visit-shown = Visita { $visit }, { $state }, empezada el { $opened }
visit-before = Antes: { $told }
visit-really-forget =
    { $days ->
        [one] ¿Borrar para siempre lo que se sabe de los coches de hace más de { $days } día?
       *[other] ¿Borrar para siempre lo que se sabe de los coches de hace más de { $days } días?
    }
visit-forgotten =
    { $count ->
        [one] Se borró lo que se sabía de { $count } coche.
       *[other] Se borró lo que se sabía de { $count } coches.
    }

ship-would-go = { $box }: por enviar { $events } eventos de { $jobs } trabajos; el almacén lo tiene todo hasta la marca { $mark }.
ship-taken-in = Del almacén, para { $job }: añadido al registro.
ship-not-taken-in = Del almacén, para { $job }: no aceptado, { $why }.
shipped = { $box }: { $events } eventos enviados, hasta la marca { $mark }.
ship-so-far = { $events } eventos enviados

store-up-to-date = El almacén está al día.
store-box-added = { $box }, de { $site }: entra como { $login }; su contraseña está en { $file }.
store-no-site = --site es para supervisores: el papel { $kind } ve todos los talleres.
store-person-added = { $name } entra como { $login }; la contraseña está en { $file }.
store-pages-added = Las páginas entran como { $login }; la contraseña está en { $file }.
store-password-set = { $login } ya puede entrar en las páginas, y firma allí con la clave { $key }.
store-indexed =
    { $count ->
        [one] { $count } trabajo añadido al índice.
       *[other] { $count } trabajos añadidos al índice.
    }
store-box = { $site }, { $box }: visto { $seen }, marca { $mark }, versión { $version }, por enviar { $outbox }
store-box-retired = { $box } (retirado)
store-box-clock = { $told }, nada garantiza su reloj
store-box-refused = NO ACEPTADO: { $why }
store-box-files = ficheros publicados: { $state }
store-sealed =
    { $count ->
        [one] Sellado { $when }: sello { $number }, { $count } equipo.
       *[other] Sellado { $when }: sello { $number }, { $count } equipos.
    }
store-checked = Comprobado: { $boxes } equipos, { $jobs } trabajos, { $events } eventos, { $marks } marcas.
store-not-in-order = No está en orden.
store-in-order = En orden: todo está como lo firmaron los equipos.
store-nothing-elsewhere = No se comparó con nada guardado en otro sitio: no se notaría que sea una copia más antigua del almacén. Da --seal o --root.

voices-none = Al lado de este registro no hay ninguna voz aprendida.
voices-nothing-learned = todavía nada aprendido
voices-version = versión { $version }
voices-features-since = rasgos guardados desde { $day }
voices-sound-since = sonido guardado desde { $day }
voices-no-sound = ningún sonido guardado
voices-learned = Voz aprendida de { $name }: versión { $version }.
voices-really-forget = ¿Borrar todo lo que se guarda de la voz de { $name }?
voices-forgotten = Olvidada: la voz de { $name } ({ $language }).
voices-exported =
    { $count ->
        [one] Escrito { $count } sonido en { $folder }.
       *[other] Escritos { $count } sonidos en { $folder }.
    }

verify-open-read = Abierto: { $file } lo pueden leer otros además de su dueño: { $remedy }
verify-open-change = Abierto: { $file } lo puede cambiar cualquiera: { $remedy }
enrolled-redacted = en la lista desde el { $day }, { $vouched }; se sustituyó un nombre, así que aquí no se puede comprobar
copied-not-in-it =
    { $count ->
        [one] No está en ella: { $count } fragmento que falta o no está como se grabó; 'companion verify' lo nombra.
       *[other] No están en ella: { $count } fragmentos que faltan o no están como se grabaron; 'companion verify' los nombra.
    }
ship-sound-sent = Enviados { $clips } fragmentos de sonido ({ $size } MB).
ship-sound-would-go = Por enviar: { $clips } fragmentos de sonido ({ $size } MB).
ship-sound-stays = No se enviaría ningún sonido; con --sound, o el ajuste ship_sound: { $clips } fragmentos de sonido ({ $size } MB).
store-redacted =
    { $count ->
        [one] En { $count } evento se sustituyeron nombres: su lugar en la cadena está demostrado; lo que dice ahora es lo que cuenta este almacén.
       *[other] En { $count } eventos se sustituyeron nombres: sus lugares en la cadena están demostrados; lo que dicen ahora es lo que cuenta este almacén.
    }
store-forgotten = { $pseudonym } en { $events } eventos de { $jobs } trabajos, { $comments } comentarios.
store-forgotten-left = QUEDA: { $what }
store-forgotten-for-good = El almacén ya no sabe quién es { $pseudonym }.
store-exported = { $folder }: { $jobs } trabajos, { $events } eventos, { $clips } fragmentos de sonido.
store-no-days = DAYS es un número entero a partir de 1, o forever.
store-kept = Se guarda: { $told }.
store-kept-days =
    { $days ->
        [one] { $kind } { $days } día
       *[other] { $kind } { $days } días
    }
store-kept-for-good = { $kind } para siempre
store-let-go = Borrado: { $clips } fragmentos de sonido, { $listened } líneas de quién escuchó, { $sessions } sesiones, { $names } nombres de seudónimos.
store-person-removed = { $login } ya no puede entrar.
visit-ears-for-ask = --ears es para --ask: lo que no se pregunta no se deletrea.
practise-no-stage = --stage { $stage }: el trabajo tiene { $count } etapas; 'companion files' las muestra.
ship-already = Este registro se está enviando ahora mismo; no se hizo nada más.
ship-files-taken = Ficheros publicados, versión { $version }: recibidos; los trabajos empiezan con ellos.
ship-files-wait = Ficheros publicados, versión { $version }: se reciben cuando termine este trabajo.
ship-files-refused = Ficheros publicados, versión { $version }, RECHAZADOS: { $why }
clips-of-voices-gone =
    { $count ->
        [one] Borrado { $count } sonido de voces aprendidas.
       *[other] Borrados { $count } sonidos de voces aprendidas.
    }

enrolled-of-store = del almacén, { $enrolled }
people-store-key-removed = { $name } ya no puede firmar desde el almacén.
people-asks-to-sign = { $name } pide firmar aquí ({ $role }) con la clave { $key }.
people-store-key-known = Lo que { $name } firme en el almacén queda probado aquí; respondió { $by }.
people-declined = Se le dirá a { $name } con el próximo 'companion ship'.
people-is-asking = { $name } pide firmar desde el almacén: 'companion people accept'
ship-key-known = La clave de { $name } se conoce aquí, y el almacén lo sabe.
ship-key-declined = La clave de { $name } no se aceptó: { $why }.
ship-key-asked = { $name } pide firmar en este equipo desde el almacén, con la clave { $key }. Responde alguien que supervise: companion people accept "{ $name }", o companion people decline "{ $name }".
# pragma: allowlist nextline secret
publish-password = Tu contraseña de las páginas
published = Versión { $version }, { $files } ficheros, firmada por { $name }, para { $boxes }. En la página de equipos se ve quién la recibió.
