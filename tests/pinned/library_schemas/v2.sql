PRAGMA user_version = 2;
PRAGMA application_id = 1953525099;
BEGIN TRANSACTION;
CREATE TABLE entries (
        session TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED,
        number INTEGER NOT NULL CHECK (number > 0),
        about INTEGER CHECK (about < number),
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        mark TEXT,
        body TEXT NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (session, number),
        FOREIGN KEY (session, about) REFERENCES entries (session, number)
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "entries" VALUES('d589d532ca154bffbbef50cc042dfa8e',1,NULL,'2026-11-26T04:42:41.061700Z','setup','setup 8c28c96a173a46799ef65072d4c1174f 1','{"body":{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.5 m","height":"1.4 m","side":"30 deg camera-left"},"power":"1/8 + 0.5"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"1/4 + 0.8"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"},"name":"Quillmere, first try","setup_id":"8c28c96a173a46799ef65072d4c1174f","version":1}','0e36199ac424b822939914b68d471780');
INSERT INTO "entries" VALUES('d589d532ca154bffbbef50cc042dfa8e',2,NULL,'2026-11-26T04:42:41.071852Z','frame','IMG_0001.jpg','{"name":"IMG_0001.jpg","size":4}','ec68e3ee58752eed27309b02063b37c2');
INSERT INTO "entries" VALUES('d589d532ca154bffbbef50cc042dfa8e',3,NULL,'2026-11-26T04:42:41.081514Z','frame','IMG_0002.jpg','{"name":"IMG_0002.jpg","size":4}','6a7a7f0d2292e12497f5f20f5c65f777');
INSERT INTO "entries" VALUES('d589d532ca154bffbbef50cc042dfa8e',4,3,'2026-11-26T04:42:41.093618Z','reading',NULL,'{"error":""}','041e4605c89f5feeafbbc35be6e58777');
INSERT INTO "entries" VALUES('d589d532ca154bffbbef50cc042dfa8e',5,3,'2026-11-26T04:42:41.101552Z','note',NULL,'{"text":"Zoë blinks"}','4a61e846c56cb14c7d8a82059e56dacc');
CREATE TABLE pictures (
        session TEXT NOT NULL,
        entry INTEGER NOT NULL,
        what TEXT NOT NULL,
        content BLOB NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (session, entry, what),
        FOREIGN KEY (session, entry) REFERENCES entries (session, number) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "pictures" VALUES('d589d532ca154bffbbef50cc042dfa8e',4,'eyes',X'FFD8FFD9','7a93c89e585617254bbb19a90dab042e');
INSERT INTO "pictures" VALUES('d589d532ca154bffbbef50cc042dfa8e',4,'preview',X'FFD8FFD9','7a93c89e585617254bbb19a90dab042e');
CREATE TABLE practice (
        base TEXT NOT NULL,
        seed INTEGER NOT NULL,
        number INTEGER NOT NULL CHECK (number > 0),
        at TEXT NOT NULL,
        place INTEGER NOT NULL CHECK (place IN (0, 1)),
        light INTEGER NOT NULL CHECK (light IN (0, 1)),
        surface INTEGER NOT NULL CHECK (surface IN (0, 1)),
        move INTEGER NOT NULL CHECK (move IN (0, 1)),
        PRIMARY KEY (base, seed, number)
    );
INSERT INTO "practice" VALUES('',7,1,'2026-11-26T04:42:41.113347Z',1,1,0,1);
CREATE TABLE revisions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        PRIMARY KEY (thing, revision)
    ) WITHOUT ROWID
    ;
INSERT INTO "revisions" VALUES('0b1d8e93a82a42f0a0f6cdbf55ac36ae',1,1);
INSERT INTO "revisions" VALUES('2cd1feb99bb64e5eb7de9e73360b77c7',1,1);
INSERT INTO "revisions" VALUES('39869108591142b8a1ab6422ca6851b8',1,1);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',1,1);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',2,2);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',3,1);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',4,3);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',5,4);
INSERT INTO "revisions" VALUES('8c28c96a173a46799ef65072d4c1174f',6,3);
INSERT INTO "revisions" VALUES('a298449b333d4c0fac4aa895d8cc3745',1,1);
INSERT INTO "revisions" VALUES('a298449b333d4c0fac4aa895d8cc3745',2,1);
INSERT INTO "revisions" VALUES('b24b60fcce8440dba2ee28215da67461',1,1);
INSERT INTO "revisions" VALUES('d589d532ca154bffbbef50cc042dfa8e',1,1);
INSERT INTO "revisions" VALUES('d8aefb2cddf3456eb46bed0a5565786c',1,1);
CREATE TABLE things (
        id TEXT PRIMARY KEY NOT NULL,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        words TEXT NOT NULL,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        changed_at TEXT NOT NULL,
        binned INTEGER NOT NULL DEFAULT 0 CHECK (binned IN (0, 1)),
        FOREIGN KEY (id, version) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "things" VALUES('8c28c96a173a46799ef65072d4c1174f','setup','Quillmere, first try','
quillmere, first try
400 ws studio head
medium softbox 60x90 cm
key
200 ws studio head
reflected umbrella 110 cm
fill
ines''s reading-room glasses
ines, reader services
quillmere library, reading room: first try
',6,3,'2026-11-26T04:42:40.853452Z',0);
INSERT INTO "things" VALUES('39869108591142b8a1ab6422ca6851b8','room','room of the reading room','
room of the reading room
',1,1,'2026-11-26T04:42:40.857919Z',0);
INSERT INTO "things" VALUES('2cd1feb99bb64e5eb7de9e73360b77c7','sitter','sitter of the reading room','
sitter of the reading room
ines''s reading-room glasses
ines, reader services
',1,1,'2026-11-26T04:42:40.946488Z',0);
INSERT INTO "things" VALUES('d8aefb2cddf3456eb46bed0a5565786c','glasses','glasses of the reading room','
glasses of the reading room
ines''s reading-room glasses
',1,1,'2026-11-26T04:42:40.955027Z',0);
INSERT INTO "things" VALUES('b24b60fcce8440dba2ee28215da67461','gear','Zoë''s 400 Ws head','
zoe''s 400 ws head
400 ws studio head
medium softbox 60x90 cm
',1,1,'2026-11-26T04:42:41.038115Z',0);
INSERT INTO "things" VALUES('0b1d8e93a82a42f0a0f6cdbf55ac36ae','session','portrait day','
portrait day
ines
',1,1,'2026-11-26T04:42:41.045647Z',0);
INSERT INTO "things" VALUES('d589d532ca154bffbbef50cc042dfa8e','session','two test shots','
two test shots
',1,1,'2026-11-26T04:42:41.101552Z',0);
INSERT INTO "things" VALUES('a298449b333d4c0fac4aa895d8cc3745','room','attic','
attic
',2,1,'2026-11-26T04:42:41.133506Z',1);
CREATE TABLE versions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED,
        number INTEGER NOT NULL CHECK (number > 0),
        parent INTEGER CHECK (parent < number),
        ahead INTEGER,
        saved_at TEXT NOT NULL,
        why TEXT NOT NULL,
        body TEXT NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (thing, number),
        FOREIGN KEY (thing, parent) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "versions" VALUES('8c28c96a173a46799ef65072d4c1174f',1,NULL,2,'2026-11-26T04:42:40.819159Z','','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.5 m","height":"1.4 m","side":"30 deg camera-left"},"power":"1/8 + 0.5"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"1/4 + 0.8"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','17082baf536e8847a67deb8957c496a0');
INSERT INTO "versions" VALUES('8c28c96a173a46799ef65072d4c1174f',2,1,NULL,'2026-11-26T04:42:40.833774Z','after the moves','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"1/4 + 0.6"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','ab74980b71b5a350fcbd79bf807872e5');
INSERT INTO "versions" VALUES('8c28c96a173a46799ef65072d4c1174f',3,1,4,'2026-11-26T04:42:40.839094Z','key: half power','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/2"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"1/4 + 0.8"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','7139ab02460ccbfa3bb9485d600d171e');
INSERT INTO "versions" VALUES('8c28c96a173a46799ef65072d4c1174f',4,3,NULL,'2026-11-26T04:42:40.845814Z','version 2 again','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"1/4 + 0.6"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','5e625b67aa04f99a0268f744335a1e3c');
INSERT INTO "versions" VALUES('39869108591142b8a1ab6422ca6851b8',1,NULL,NULL,'2026-11-26T04:42:40.857812Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','f1c67fcd65f3498112680388c89b1239');
INSERT INTO "versions" VALUES('2cd1feb99bb64e5eb7de9e73360b77c7',1,NULL,NULL,'2026-11-26T04:42:40.946356Z','','{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated"}','84e5334d0f81c2b988bc795c4809e01e');
INSERT INTO "versions" VALUES('d8aefb2cddf3456eb46bed0a5565786c',1,NULL,NULL,'2026-11-26T04:42:40.954936Z','','{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"}','f41c5a2c65a1430a6705130328d4b570');
INSERT INTO "versions" VALUES('b24b60fcce8440dba2ee28215da67461',1,NULL,NULL,'2026-11-26T04:42:41.037997Z','','{"head":{"preset":"400 Ws studio head"},"meter":{"aperture":"f/8","distance":"1.5 m","modifier":{"preset":"medium softbox 60x90 cm"}},"name":"400 Ws studio head","what":"head"}','f3684f4797890a0c1bf75a24e6c219df');
INSERT INTO "versions" VALUES('0b1d8e93a82a42f0a0f6cdbf55ac36ae',1,NULL,NULL,'2026-11-26T04:42:41.045552Z','','{"sitters":[{"height":"1.66 m","name":"Ines"}],"start":"9:00"}','ace4dfd48a9749f9ebe0c807e65d159a');
INSERT INTO "versions" VALUES('d589d532ca154bffbbef50cc042dfa8e',1,NULL,NULL,'2026-11-26T04:42:41.049391Z','','{"what":"shoot"}','10a043abb4d954536df2045bac5a69f1');
INSERT INTO "versions" VALUES('a298449b333d4c0fac4aa895d8cc3745',1,NULL,NULL,'2026-11-26T04:42:41.122013Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','f8f4fe5ba75ea7fde33b3d541d225ca9');
CREATE INDEX things_by_change ON things (kind, binned, changed_at);
CREATE INDEX versions_by_parent ON versions (thing, parent);
CREATE UNIQUE INDEX entries_by_mark ON entries (session, mark) WHERE mark IS NOT NULL;
CREATE INDEX entries_by_kind ON entries (session, kind, number);
CREATE INDEX entries_by_about ON entries (session, about, kind, number);
COMMIT;
