BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE bags (
	id INTEGER NOT NULL, 
	lot TEXT NOT NULL, 
	entered_utc_ms BIGINT NOT NULL, 
	name TEXT NOT NULL, 
	supplier TEXT NOT NULL, 
	mass_g INTEGER, 
	best_before TEXT, 
	contains TEXT NOT NULL, 
	may_contain TEXT NOT NULL, 
	CONSTRAINT pk_bags PRIMARY KEY (id)
);
INSERT INTO "bags" VALUES(1,'lot 1, Quillby & Maar''s "élan"',1790000001000,'name 1, Quillby & Maar''s "élan"','supplier 1, Quillby & Maar''s "élan"',1,'2097-06-30','contains 1, Quillby & Maar''s "élan"','may_contain 1, Quillby & Maar''s "élan"');
INSERT INTO "bags" VALUES(2,'lot 2, Quillby & Maar''s "élan"',1790000002000,'name 2, Quillby & Maar''s "élan"','supplier 2, Quillby & Maar''s "élan"',2,'2097-06-30','contains 2, Quillby & Maar''s "élan"','may_contain 2, Quillby & Maar''s "élan"');
INSERT INTO "bags" VALUES(3,'lot 3, Quillby & Maar''s "élan"',1790000003000,'name 3, Quillby & Maar''s "élan"','supplier 3, Quillby & Maar''s "élan"',3,'2097-06-30','contains 3, Quillby & Maar''s "élan"','may_contain 3, Quillby & Maar''s "élan"');
CREATE TABLE boots (
	id INTEGER NOT NULL, 
	board TEXT NOT NULL, 
	boot_nonce BIGINT NOT NULL, 
	firmware TEXT NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	first_seen_utc_ms BIGINT NOT NULL, 
	CONSTRAINT pk_boots PRIMARY KEY (id), 
	CONSTRAINT uq_boots_board_boot_nonce UNIQUE (board, boot_nonce)
);
INSERT INTO "boots" VALUES(1,'bench',1,'firmware 1, Quillby & Maar''s "élan"',1,1790000001000);
INSERT INTO "boots" VALUES(2,'bench',2,'firmware 2, Quillby & Maar''s "élan"',0,1790000002000);
INSERT INTO "boots" VALUES(3,'bench',3,'firmware 3, Quillby & Maar''s "élan"',1,1790000003000);
CREATE TABLE console (
	id INTEGER NOT NULL, 
	boot_id INTEGER NOT NULL, 
	seen_utc_ms BIGINT NOT NULL, 
	text TEXT NOT NULL, 
	CONSTRAINT pk_console PRIMARY KEY (id), 
	CONSTRAINT fk_console_boot_id FOREIGN KEY(boot_id) REFERENCES boots (id)
);
INSERT INTO "console" VALUES(1,1,1790000001000,'text 1, Quillby & Maar''s "élan"');
INSERT INTO "console" VALUES(2,1,1790000002000,'text 2, Quillby & Maar''s "élan"');
INSERT INTO "console" VALUES(3,1,1790000003000,'text 3, Quillby & Maar''s "élan"');
CREATE TABLE counts (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	counted_utc_ms BIGINT NOT NULL, 
	made INTEGER, 
	sold INTEGER, 
	seconds INTEGER, 
	remelt INTEGER, 
	CONSTRAINT pk_counts PRIMARY KEY (id), 
	CONSTRAINT fk_counts_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "counts" VALUES(1,1,1790000001000,1,1,1,1);
INSERT INTO "counts" VALUES(2,1,1790000002000,2,2,2,2);
INSERT INTO "counts" VALUES(3,1,1790000003000,3,3,3,3);
CREATE TABLE curves (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	taken_utc_ms BIGINT NOT NULL, 
	set_ratio FLOAT NOT NULL, 
	place TEXT NOT NULL, 
	cold_mc INTEGER, 
	points_csv TEXT NOT NULL, 
	CONSTRAINT pk_curves PRIMARY KEY (id), 
	CONSTRAINT fk_curves_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "curves" VALUES(1,1,1790000001000,0.125,'in',1,'points_csv 1, Quillby & Maar''s "élan"');
INSERT INTO "curves" VALUES(2,1,1790000002000,0.25,'in',2,'points_csv 2, Quillby & Maar''s "élan"');
INSERT INTO "curves" VALUES(3,1,1790000003000,0.375,'in',3,'points_csv 3, Quillby & Maar''s "élan"');
CREATE TABLE events (
	boot_id INTEGER NOT NULL, 
	seq INTEGER NOT NULL, 
	at_ms BIGINT NOT NULL, 
	kind TEXT NOT NULL, 
	a INTEGER NOT NULL, 
	b INTEGER NOT NULL, 
	CONSTRAINT pk_events PRIMARY KEY (boot_id, seq), 
	CONSTRAINT fk_events_boot_id FOREIGN KEY(boot_id) REFERENCES boots (id)
)
 WITHOUT ROWID

;
INSERT INTO "events" VALUES(1,1,1,'step',1,1);
INSERT INTO "events" VALUES(1,2,2,'step',2,2);
INSERT INTO "events" VALUES(1,3,3,'step',3,3);
CREATE TABLE figures (
	run_id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	value FLOAT, 
	CONSTRAINT pk_figures PRIMARY KEY (run_id, name), 
	CONSTRAINT fk_figures_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
)
 WITHOUT ROWID

;
INSERT INTO "figures" VALUES(1,'name 1, Quillby & Maar''s "élan"',0.125);
INSERT INTO "figures" VALUES(1,'name 2, Quillby & Maar''s "élan"',0.25);
INSERT INTO "figures" VALUES(1,'name 3, Quillby & Maar''s "élan"',0.375);
CREATE TABLE gaps (
	boot_id INTEGER NOT NULL, 
	stream TEXT NOT NULL, 
	from_seq INTEGER NOT NULL, 
	to_seq INTEGER NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_gaps PRIMARY KEY (boot_id, stream, from_seq, to_seq), 
	CONSTRAINT ck_gaps_stream CHECK (stream IN ('readings', 'events')), 
	CONSTRAINT fk_gaps_boot_id FOREIGN KEY(boot_id) REFERENCES boots (id)
)
 WITHOUT ROWID

;
INSERT INTO "gaps" VALUES(1,'readings',1,1,'why 1, Quillby & Maar''s "élan"');
CREATE TABLE grades (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	graded_utc_ms BIGINT NOT NULL, 
	verdict TEXT NOT NULL, 
	marks TEXT NOT NULL, 
	photo TEXT, 
	words TEXT NOT NULL, 
	CONSTRAINT pk_grades PRIMARY KEY (id), 
	CONSTRAINT ck_grades_verdict CHECK (verdict IN ('sell', 'seconds', 'remelt')), 
	CONSTRAINT fk_grades_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "grades" VALUES(1,1,1790000001000,'sell','marks 1, Quillby & Maar''s "élan"','photo 1, Quillby & Maar''s "élan"','words 1, Quillby & Maar''s "élan"');
INSERT INTO "grades" VALUES(2,1,1790000002000,'sell','marks 2, Quillby & Maar''s "élan"','photo 2, Quillby & Maar''s "élan"','words 2, Quillby & Maar''s "élan"');
INSERT INTO "grades" VALUES(3,1,1790000003000,'sell','marks 3, Quillby & Maar''s "élan"','photo 3, Quillby & Maar''s "élan"','words 3, Quillby & Maar''s "élan"');
CREATE TABLE labels (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	labelled_utc_ms BIGINT NOT NULL, 
	lot TEXT NOT NULL, 
	name TEXT NOT NULL, 
	best_before TEXT NOT NULL, 
	contains TEXT NOT NULL, 
	may_contain TEXT NOT NULL, 
	net_mg INTEGER NOT NULL, 
	CONSTRAINT pk_labels PRIMARY KEY (id), 
	CONSTRAINT fk_labels_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "labels" VALUES(1,1,1790000001000,'lot 1, Quillby & Maar''s "élan"','name 1, Quillby & Maar''s "élan"','2097-06-30','contains 1, Quillby & Maar''s "élan"','may_contain 1, Quillby & Maar''s "élan"',1);
INSERT INTO "labels" VALUES(2,1,1790000002000,'lot 2, Quillby & Maar''s "élan"','name 2, Quillby & Maar''s "élan"','2097-06-30','contains 2, Quillby & Maar''s "élan"','may_contain 2, Quillby & Maar''s "élan"',2);
INSERT INTO "labels" VALUES(3,1,1790000003000,'lot 3, Quillby & Maar''s "élan"','name 3, Quillby & Maar''s "élan"','2097-06-30','contains 3, Quillby & Maar''s "élan"','may_contain 3, Quillby & Maar''s "élan"',3);
CREATE TABLE notes (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	written_utc_ms BIGINT NOT NULL, 
	words TEXT NOT NULL, 
	CONSTRAINT pk_notes PRIMARY KEY (id), 
	CONSTRAINT fk_notes_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "notes" VALUES(1,1,1790000001000,'words 1, Quillby & Maar''s "élan"');
INSERT INTO "notes" VALUES(2,1,1790000002000,'words 2, Quillby & Maar''s "élan"');
INSERT INTO "notes" VALUES(3,1,1790000003000,'words 3, Quillby & Maar''s "élan"');
CREATE TABLE readings (
	boot_id INTEGER NOT NULL, 
	seq INTEGER NOT NULL, 
	at_ms BIGINT NOT NULL, 
	state TEXT NOT NULL, 
	step_no INTEGER NOT NULL, 
	target_mc INTEGER, 
	product_mc INTEGER, 
	plate_mc INTEGER, 
	room_mc INTEGER, 
	heat_permille INTEGER NOT NULL, 
	fan_permille INTEGER NOT NULL, 
	stir_permille INTEGER NOT NULL, 
	flags INTEGER NOT NULL, 
	CONSTRAINT pk_readings PRIMARY KEY (boot_id, seq), 
	CONSTRAINT fk_readings_boot_id FOREIGN KEY(boot_id) REFERENCES boots (id)
)
 WITHOUT ROWID

;
INSERT INTO "readings" VALUES(1,0,0,'working',5,31500,31400,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,1,1000,'working',5,31500,31401,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,2,2000,'working',5,31500,31402,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,3,3000,'working',5,31500,31403,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,4,4000,'working',5,31500,31404,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,5,5000,'working',5,31500,31405,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,6,6000,'working',5,31500,31406,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,7,7000,'working',5,31500,NULL,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,8,8000,'working',5,31500,31408,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,9,9000,'working',5,31500,31409,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,10,10000,'working',5,31500,31410,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,11,11000,'working',5,31500,31411,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,12,12000,'working',5,31500,31412,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,13,13000,'working',5,31500,31413,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,14,14000,'working',5,31500,31414,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,15,15000,'working',5,31500,31415,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,16,16000,'working',5,31500,31416,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,17,17000,'working',5,31500,31417,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,18,18000,'working',5,31500,31418,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,19,19000,'working',5,31500,31419,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,20,20000,'working',5,31500,31420,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,21,21000,'working',5,31500,31421,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,22,22000,'working',5,31500,31422,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,23,23000,'working',5,31500,31423,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,24,24000,'working',5,31500,31424,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,25,25000,'working',5,31500,31425,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,26,26000,'working',5,31500,31426,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,27,27000,'working',5,31500,31427,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,28,28000,'working',5,31500,31428,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,29,29000,'working',5,31500,31429,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,30,30000,'working',5,31500,31430,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,31,31000,'working',5,31500,31431,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,32,32000,'working',5,31500,31432,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,33,33000,'working',5,31500,31433,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,34,34000,'working',5,31500,31434,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,35,35000,'working',5,31500,31435,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,36,36000,'working',5,31500,31436,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,37,37000,'working',5,31500,31437,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,38,38000,'working',5,31500,31438,NULL,21000,120,0,500,128);
INSERT INTO "readings" VALUES(1,39,39000,'working',5,31500,31439,NULL,21000,120,0,500,128);
CREATE TABLE run_parts (
	run_id INTEGER NOT NULL, 
	part_no INTEGER NOT NULL, 
	boot_id INTEGER NOT NULL, 
	start_ms BIGINT NOT NULL, 
	end_ms BIGINT, 
	begun_utc_ms BIGINT NOT NULL, 
	CONSTRAINT pk_run_parts PRIMARY KEY (run_id, part_no), 
	CONSTRAINT fk_run_parts_run_id FOREIGN KEY(run_id) REFERENCES runs (id), 
	CONSTRAINT fk_run_parts_boot_id FOREIGN KEY(boot_id) REFERENCES boots (id)
)
 WITHOUT ROWID

;
INSERT INTO "run_parts" VALUES(1,0,1,0,NULL,1790000001000);
CREATE TABLE runs (
	id INTEGER NOT NULL, 
	schedule_toml TEXT NOT NULL, 
	digest TEXT NOT NULL, 
	chocolate TEXT NOT NULL, 
	type TEXT NOT NULL, 
	method TEXT NOT NULL, 
	mass_g INTEGER NOT NULL, 
	window_low_mc INTEGER NOT NULL, 
	window_high_mc INTEGER NOT NULL, 
	work_mc INTEGER NOT NULL, 
	rig TEXT NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	seed BIGINT, 
	workshop TEXT NOT NULL, 
	started_utc_ms BIGINT NOT NULL, 
	ended_utc_ms BIGINT, 
	outcome TEXT NOT NULL, 
	words TEXT NOT NULL, 
	CONSTRAINT pk_runs PRIMARY KEY (id), 
	CONSTRAINT ck_runs_outcome CHECK (outcome IN ('finished', 'stopped', 'off', 'unfinished'))
);
INSERT INTO "runs" VALUES(1,'schedule_toml 1, Quillby & Maar''s "élan"','digest 1, Quillby & Maar''s "élan"','chocolate 1, Quillby & Maar''s "élan"','dark','seeded',1,1,1,1,'rig 1, Quillby & Maar''s "élan"',1,1,'workshop 1, Quillby & Maar''s "élan"',1790000001000,1790000001000,'finished','words 1, Quillby & Maar''s "élan"');
INSERT INTO "runs" VALUES(2,'schedule_toml 2, Quillby & Maar''s "élan"','digest 2, Quillby & Maar''s "élan"','chocolate 2, Quillby & Maar''s "élan"','dark','seeded',2,2,2,2,'rig 2, Quillby & Maar''s "élan"',0,2,'workshop 2, Quillby & Maar''s "élan"',1790000002000,1790000002000,'finished','words 2, Quillby & Maar''s "élan"');
INSERT INTO "runs" VALUES(3,'schedule_toml 3, Quillby & Maar''s "élan"','digest 3, Quillby & Maar''s "élan"','chocolate 3, Quillby & Maar''s "élan"','dark','seeded',3,3,3,3,'rig 3, Quillby & Maar''s "élan"',1,3,'workshop 3, Quillby & Maar''s "élan"',1790000003000,1790000003000,'finished','words 3, Quillby & Maar''s "élan"');
CREATE TABLE smears (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	dipped_utc_ms BIGINT NOT NULL, 
	room_mc INTEGER NOT NULL, 
	set_s INTEGER, 
	streaks BOOLEAN NOT NULL, 
	CONSTRAINT pk_smears PRIMARY KEY (id), 
	CONSTRAINT fk_smears_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "smears" VALUES(1,1,1790000001000,1,1,1);
INSERT INTO "smears" VALUES(2,1,1790000002000,2,2,0);
INSERT INTO "smears" VALUES(3,1,1790000003000,3,3,1);
CREATE TABLE uses (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	used_utc_ms BIGINT NOT NULL, 
	lot TEXT, 
	from_run_id INTEGER, 
	mass_g INTEGER, 
	CONSTRAINT pk_uses PRIMARY KEY (id), 
	CONSTRAINT fk_uses_from_run_id FOREIGN KEY(from_run_id) REFERENCES runs (id), 
	CONSTRAINT ck_uses_source CHECK ((lot IS NULL) <> (from_run_id IS NULL)), 
	CONSTRAINT fk_uses_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "uses" VALUES(1,1,1790000001000,'lot 1, Quillby & Maar''s "élan"',NULL,1);
INSERT INTO "uses" VALUES(2,1,1790000002000,'lot 2, Quillby & Maar''s "élan"',NULL,2);
INSERT INTO "uses" VALUES(3,1,1790000003000,'lot 3, Quillby & Maar''s "élan"',NULL,3);
CREATE TABLE weights (
	id INTEGER NOT NULL, 
	run_id INTEGER NOT NULL, 
	weighed_utc_ms BIGINT NOT NULL, 
	label_mg INTEGER NOT NULL, 
	net_mg INTEGER NOT NULL, 
	CONSTRAINT pk_weights PRIMARY KEY (id), 
	CONSTRAINT fk_weights_run_id FOREIGN KEY(run_id) REFERENCES runs (id)
);
INSERT INTO "weights" VALUES(1,1,1790000001000,1,1);
INSERT INTO "weights" VALUES(2,1,1790000002000,2,2);
INSERT INTO "weights" VALUES(3,1,1790000003000,3,3);
CREATE INDEX ix_run_parts_boot_id ON run_parts (boot_id);
CREATE INDEX ix_notes_run_id ON notes (run_id);
CREATE INDEX ix_console_boot_id ON console (boot_id);
CREATE INDEX ix_grades_run_id ON grades (run_id);
CREATE INDEX ix_counts_run_id ON counts (run_id);
CREATE INDEX ix_weights_run_id ON weights (run_id);
CREATE INDEX ix_smears_run_id ON smears (run_id);
CREATE INDEX ix_curves_run_id ON curves (run_id);
CREATE INDEX ix_bags_lot ON bags (lot);
CREATE INDEX ix_uses_run_id ON uses (run_id);
CREATE INDEX ix_labels_run_id ON labels (run_id);
COMMIT;
